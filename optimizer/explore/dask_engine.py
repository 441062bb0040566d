"""Run tasks on a Dask cluster that is already there, given its scheduler's address."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from optimizer.errors import BadInput, Problem
from optimizer.explore.engine import Done, Work, timed

if TYPE_CHECKING:
    from distributed import Client

PATIENCE_S = 10.0
"""How long a scheduler may take to answer."""

LOST = "the workers that ran it kept dying"


class Dask:
    """Tasks on an existing Dask cluster; lost workers' tasks are run again by its scheduler.

    Args:
        address: the scheduler's address, such as ``tcp://10.0.0.5:8786``.

    Raises:
        BadInput: if the extra ``dask`` is not installed, nobody answers at the address, or the
            cluster has no workers.
    """

    def __init__(self, address: str) -> None:
        self.address = address
        with _connected(address) as client:
            _demand_workers(client, address)

    def run(self, work: Work, shared: object, tasks: Sequence[Any]) -> Iterator[Done]:
        """Yield every task as it finishes; one whose workers keep dying is reported as lost."""
        from distributed import KilledWorker, as_completed  # noqa: PLC0415  # an optional extra

        with _connected(self.address) as client:
            everywhere = client.scatter(shared, broadcast=True, hash=False)
            futures = [client.submit(timed, work, everywhere, task, pure=False) for task in tasks]
            places = {future.key: index for index, future in enumerate(futures)}
            try:
                for future in as_completed(futures):
                    try:
                        value, seconds = future.result()
                    except KilledWorker:
                        yield Done(places[future.key], None, 0.0, LOST)
                    else:
                        yield Done(places[future.key], value, seconds)
            finally:
                client.cancel(futures)

    def close(self) -> None:
        """Nothing is held: each run connects for itself."""


def _demand_workers(client: Client, address: str) -> None:
    try:
        client.wait_for_workers(1, timeout=PATIENCE_S)
    except TimeoutError:
        fix = "Start a worker for it, with the same version of Floodwright."
        raise BadInput([Problem("--dask", f"No worker at {address}.", fix)]) from None


def _connected(address: str) -> Client:
    try:
        from distributed import Client  # noqa: PLC0415  # an optional extra
    except ImportError:
        fix = 'Install it: pip install "floodwright[dask]".'
        raise BadInput([Problem("--dask", "Dask is not installed.", fix)]) from None
    try:
        return Client(address, timeout=PATIENCE_S)
    except (OSError, ValueError) as fault:
        fix = "Start a scheduler there, or mend the address (tcp://host:port)."
        raise BadInput([Problem("--dask", f"Nobody answers at {address}: {fault}.", fix)]) from None
