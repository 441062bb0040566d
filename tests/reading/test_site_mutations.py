"""Five hundred spoilt site files: each gives a Site or BadInput, quickly, and nothing else."""

import pytest

from optimizer.errors import BadInput
from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review_file
from optimizer.reading.site import SiteFile, read_site
from tests.reading.mutants import mutant
from tests.reading.site_texts import EVERY_KEY, SMALLEST

MUTANTS = 500
BASES = [EVERY_KEY, EVERY_KEY, SMALLEST]


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What became of each mutant: a SiteFile or the problems."""
    path = tmp_path_factory.mktemp("mutants") / "site.toml"
    catalog = read_catalog()
    results = []
    for seed in range(MUTANTS):
        path.write_bytes(mutant(seed, BASES))
        try:
            result = read_site(path)
            review_file(result, catalog)
        except BadInput as error:
            result = error.problems
        results.append(result)
    return results


def test_every_refusal_says_where_what_and_how_to_mend_it(outcomes):
    refusals = [result for result in outcomes if not isinstance(result, SiteFile)]
    assert refusals
    for problems in refusals:
        assert problems
        for problem in problems:
            assert problem.where.startswith("site.toml")
            assert problem.what and problem.fix
            assert len(str(problem)) < 1000


def test_the_mutants_are_neither_all_refused_nor_all_read(outcomes):
    read = sum(isinstance(result, SiteFile) for result in outcomes)
    assert 0.05 * MUTANTS < read < 0.6 * MUTANTS
