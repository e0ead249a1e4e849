"""README.md shows the page as it is."""

from tests.browser import readme_picture


def test_the_picture_in_the_readme_is_of_the_page_as_it_is(tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    old = "The picture in README.md is old: python -m tests.browser.readme_picture takes it anew."
    assert readme_picture.stamped() == readme_picture.words(), old


def test_the_readme_shows_that_picture():
    page = (readme_picture.browser_check.ROOT / "README.md").read_text(encoding="utf-8")
    assert "](notebooks/pictures/06_ride.png)" in page
