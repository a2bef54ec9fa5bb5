# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The parts of the page of finds that are the same for every search: style, sorting, cautions."""

from __future__ import annotations

from typing import Final

__all__ = ["CAUTIONS", "SCRIPT", "STYLE"]

STYLE: Final = """
:root { color-scheme: light dark; --paper: #f3f0ea; --card: #fbfaf7; --ink: #24292e;
  --soft: #66696b; --line: #d8d3c8; --mark: #8c4a20; }
@media (prefers-color-scheme: dark) { :root { --paper: #1d2024; --card: #282c31; --ink: #ece8df;
  --soft: #a7a9a9; --line: #43474d; --mark: #e3a877; } }
body { margin: 0 auto; padding: 2rem; max-width: 110rem; background: var(--paper);
  color: var(--ink); font: 16px/1.5 system-ui, sans-serif; }
h1 { font-size: 1.7rem; margin: 0 0 .4rem; } h2 { font-size: 1.2rem; margin: 2rem 0 .4rem; }
p { max-width: 60rem; margin: .4rem 0; }
a { color: var(--mark); }
form { display: flex; flex-wrap: wrap; gap: 1rem; align-items: center; margin: 1.2rem 0; }
form[hidden] { display: none; }
select, button { font: inherit; padding: .3rem .6rem; color: inherit; background: var(--card);
  border: 1px solid var(--line); border-radius: 4px; }
:focus-visible { outline: 3px solid var(--mark); outline-offset: 2px; }
main { display: grid; grid-template-columns: repeat(auto-fill, minmax(17rem, 1fr)); gap: 1.2rem; }
figure { margin: 0; background: var(--card); border: 1px solid var(--line); border-radius: 6px;
  overflow: hidden; }
img, .none { display: block; width: 100%; aspect-ratio: 1; background: #f3f0ea; }
.none { display: grid; place-items: center; color: #66696b; }
figcaption { padding: .6rem .8rem .8rem; }
.number { font-weight: 600; }
.kind, .note { display: block; color: var(--soft); font-size: .85rem; }
figure dl { display: grid; grid-template-columns: 1fr auto; margin: .4rem 0 0; font-size: .85rem; }
figure dd { margin: 0; text-align: right; font-variant-numeric: tabular-nums; }
figure dt { color: var(--soft); }
.meanings { display: grid; grid-template-columns: max-content 1fr; gap: .1rem 1rem; }
.meanings dd { margin: 0; }
.cautions { border-left: 4px solid var(--mark); padding-left: 1rem; margin-top: 2rem; }
.cautions ul { padding-left: 1.2rem; max-width: 60rem; }
@media (max-width: 40rem) { body { padding: 1rem; } .meanings { display: block; } }
@media print { :root { --paper: #fff; --card: #fff; --ink: #000; --soft: #444; --line: #bbb;
  --mark: #000; } body { padding: 0; font-size: 9pt; } form, script { display: none !important; }
  main { grid-template-columns: repeat(4, 1fr); gap: 3mm; } figure { break-inside: avoid; }
  img, .none { background: #fff; } section { break-inside: avoid; } }
"""

SCRIPT: Final = """
(function () {
  'use strict';
  var cards = document.getElementById('cards');
  var key = document.getElementById('key');
  var turn = document.getElementById('turn');
  var said = document.getElementById('said');
  var first = Array.prototype.slice.call(cards.children);
  function value(card) {
    var text = card.getAttribute('data-' + key.value.replace(/_/g, '-'));
    return text === null ? NaN : parseFloat(text);
  }
  function sort() {
    var option = key.options[key.selectedIndex];
    var falling = option.getAttribute('data-falling') === '1';
    if (turn.getAttribute('aria-pressed') === 'true') { falling = !falling; }
    first.map(function (card, place) { return [value(card), place, card]; })
      .sort(function (a, b) {
        if (isNaN(a[0]) || isNaN(b[0])) { return isNaN(a[0]) - isNaN(b[0]) || a[1] - b[1]; }
        return (falling ? b[0] - a[0] : a[0] - b[0]) || a[1] - b[1];
      })
      .forEach(function (row) { cards.appendChild(row[2]); });
    said.textContent = 'Sorted by ' + option.text + ', ' +
      (falling ? 'greatest first.' : 'least first.');
  }
  key.addEventListener('change', sort);
  turn.addEventListener('click', function () {
    turn.setAttribute('aria-pressed', String(turn.getAttribute('aria-pressed') !== 'true'));
    sort();
  });
  document.getElementById('order').addEventListener('submit', function (event) {
    event.preventDefault();
  });
  document.getElementById('order').hidden = false;
}());
"""

CAUTIONS: Final = """<section class="cautions">
<h2>Before you cut and hang</h2>
<p>The designs are geometry that was checked by computer; nothing here was cut, loaded or hung.</p>
<ul>
<li><strong>Hanging.</strong> What hangs above people is the business of a qualified person: hang
points, chains, ceiling, joints under load and swing are not proved by this page. Local building
and safety codes come before anything that stands here.</li>
<li><strong>Cutting.</strong> Follow the rules of the machine and its workshop. Some sheets give
off harmful fumes or burn under a laser: ask the maker of the sheet. Cut edges are sharp: break them
before anybody handles the plates. Cut one joint first and try the fit.</li>
<li><strong>Pinching.</strong> Plates that are sprung into place store force and snap shut. Keep
fingers out of closing joints, wear eye protection and gloves, and let two people do it. Where the
spring stress is near or above 100 %, take another design, a thinner or tougher sheet, or a joint
that can be left open.</li>
</ul>
</section>"""
