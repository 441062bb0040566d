"""The site with every key, and what the review says of a site made in code."""

from optimizer.reading.review import review
from optimizer.reading.site import read_site_text
from tests.reading.site_texts import EVERY_KEY

FIELD = read_site_text(EVERY_KEY).site


def said(site, catalog):
    return [(problem.where, problem.what) for problem in review(site, catalog)]
