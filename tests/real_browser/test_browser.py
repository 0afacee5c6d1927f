"""The browser of the tests sees what it is to see; a page without faults proves something."""

import pytest

from support.browser import PHONE, accessibility_findings, browser, watched


@pytest.fixture(scope="module")
def running():
    with browser() as found:
        yield found


def test_what_a_page_asks_for_says_and_how_wide_it_is_are_seen(running, tmp_path):
    page = tmp_path / "page.html"
    page.write_text("<!doctype html><html lang=en><title>t</title><main><div style='width:900px'>x"
                    "</div><img src=missing.png alt=none><script>console.error('told')</script>")
    with watched(running, PHONE) as seen:
        seen.open(page)
        assert seen.wider_than_its_window > 500
        assert [url.rsplit("/", 1)[1] for url in seen.requests] == ["page.html", "missing.png"]
        assert any("told" in text for text in seen.complaints)


def test_a_page_that_shuts_somebody_out_is_found(running, tmp_path):
    page = tmp_path / "page.html"
    page.write_text("<!doctype html><title>t</title><main><img src='data:,'><p>x</p></main>")
    with watched(running) as seen:
        seen.open(page)
        found = accessibility_findings(seen.page)
    assert any(line.startswith("image-alt") for line in found), found
    assert any(line.startswith("html-has-lang") for line in found), found
