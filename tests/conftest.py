"""Settings of every test run."""

import gc
import signal

import pytest

pytest.register_assert_rewrite("tests.browser.agree")  # its asserts are told in full too

# As the command has it: what is loaded and collected stays, and need not be looked at so often.
gc.set_threshold(20_000)

# A shell starts jobs in the background with Ctrl-C ignored, and their children inherit that. The
# tests press Ctrl-C themselves.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_collection_finish() -> None:
    """Keep modules and tests, which stay to the end, out of every later look for garbage."""
    gc.freeze()
