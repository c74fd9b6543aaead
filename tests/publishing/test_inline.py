"""Tests of self-contained pages."""

import base64
import hashlib
import re

import folium
import pytest
from branca.element import Element, Figure

from combe.errors import PageError
from combe.publishing.inline import make_figure, page_of, policy_as_header, self_contained_html


def test_every_script_and_style_is_inside_and_allowed_by_its_hash():
    figure = make_figure("Title", with_map=True, style="p{}", body="<p>x</p>", script="let a = 1;")
    page = self_contained_html(figure)
    assert "<script src" not in page
    assert "<link" not in page
    assert "sourceMappingURL" not in page
    assert "url(data:image/png;base64," in page
    policy = re.search(r'content="(default-src[^"]*)"', page).group(1)
    blocks = re.findall(r"<script>(.*?)</script>", page, re.S) + re.findall(
        r"<style>(.*?)</style>", page, re.S
    )
    assert len(blocks) >= 5
    for block in blocks:
        assert base64.b64encode(hashlib.sha256(block.encode()).digest()).decode() in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "img-src data: blob:;" in policy


def test_same_input_gives_the_same_bytes():
    pages = {
        self_contained_html(make_figure("T", with_map=True, style="", body="", script="")) for _ in range(2)
    }
    assert len(pages) == 1


def test_scripts_in_the_body_are_not_allowed():
    figure = make_figure("T", with_map=False, style="", body="<script>alert(1)</script>", script="let a;")
    policy = re.search(r"script-src ([^;]*);", self_contained_html(figure)).group(1)
    assert policy.count("sha256-") == 1


def test_template_signs_in_the_body_stay_as_they_are():
    page = self_contained_html(
        make_figure("{{ 7*7 }}", with_map=False, style="", body="{{ 7*7 }}", script="")
    )
    assert "{{ 7*7 }}" in page
    assert "<title>&#123;&#123; 7*7 &#125;&#125;</title>" in page


def test_a_stock_folium_page_is_refused_with_its_link():
    figure = Figure()
    figure.add_child(folium.Map((0, 0)))
    with pytest.raises(
        PageError, match=r"page asks for https://.*bootstrap.*, which no installed file stands in for"
    ):
        self_contained_html(figure)


def test_leaflet_and_jquery_links_have_stand_ins():
    figure = Figure()
    chart = folium.Map((0, 0), tiles=None)
    names = ("leaflet", "jquery", "leaflet_css")
    chart.default_js = [pair for pair in chart.default_js if pair[0] in names]
    chart.default_css = [pair for pair in chart.default_css if pair[0] in names]
    folium.Marker((0, 0), popup="hello", icon=folium.DivIcon()).add_to(chart)
    figure.add_child(chart)
    assert "jQuery" in self_contained_html(figure)


@pytest.mark.parametrize(
    "body",
    [
        '<img src="https://a.example/x.png">',
        "<img src=//a.example/x.png>",
        "<iframe src='http://a.example'></iframe>",
    ],
)
def test_anything_fetched_by_the_body_is_refused(body):
    with pytest.raises(PageError, match=r"a\.example.*would be fetched"):
        self_contained_html(make_figure("T", with_map=False, style="", body=body, script=""))


def test_data_pictures_are_welcome():
    body = '<img src="data:image/png;base64,AA" alt="x">'
    assert body in self_contained_html(make_figure("T", with_map=False, style="", body=body, script=""))


def test_a_script_that_ends_itself_is_refused():
    with pytest.raises(PageError, match="holds the end of a script element"):
        self_contained_html(make_figure("T", with_map=False, style="", body="", script="'</script>'"))


def test_image_hosts_are_the_only_opening():
    figure = Figure()
    figure.html.add_child(Element("<p>x</p>"))
    page = self_contained_html(figure, image_hosts=("https://tile.example",))
    assert "img-src data: blob: https://tile.example;" in page


def test_a_policy_goes_into_a_header_with_more_rules():
    page = self_contained_html(make_figure("T", with_map=True, style="p{}", body="<p>x</p>", script="let a;"))
    bare, policy = policy_as_header(page, "connect-src 'self'", "img-src data:")
    assert "Content-Security-Policy" not in bare
    assert "<p>x</p>" in bare
    own = re.search(r'content="(default-src[^"]*)"', page).group(1).split("; ")
    assert {rule for rule in own if not rule.startswith("img-src")} < set(policy.split("; "))
    assert policy.count("img-src") == 1
    assert {"connect-src 'self'", "img-src data:"} < set(policy.split("; "))


def test_a_policy_that_a_text_of_the_page_shows_is_not_taken_for_its_own():
    shown = '<meta http-equiv="Content-Security-Policy" content="default-src *">'
    bare, policy = policy_as_header(page_of("T", "p{}", f"<pre title='{shown}'></pre>"))
    assert policy.startswith("default-src 'none'; ")
    assert shown in bare


def test_a_page_without_policy_has_none_for_a_header():
    with pytest.raises(PageError, match="has no content security policy"):
        policy_as_header("<!DOCTYPE html><p>x</p>")
