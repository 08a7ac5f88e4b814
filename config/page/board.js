// The board: one row a watch, those that matter soonest first; sorted, filtered and searched by who looks.
import { find, known, nameOf, state } from './state.js';
import { hide, make, mark, say, set } from './nodes.js';
import { age, clock, odds, price, shares, signed } from './text.js';
import { STANDINGS, WEIGHTS, distanceOf, priceOf, soonness, standingOf } from './standing.js';
import { byGroup, fits, groupOf, groupWords, isGrouped, showNarrowing, startNarrowing } from './narrowing.js';
import { fillDayLine, fillVolumeBar, makeDayLine, makeVolumeBar } from './row_pictures.js';

const rows = new Map(), heads = new Map();
let sort = { key: 'soon', down: false }, onChoice = () => {}, onDrawn = () => {};

const COLUMNS = [
  { key: 'symbol', head: 'Symbol', value: (w) => w.symbol },
  { key: 'side', head: 'Side', kind: 'side', value: (w) => STANDINGS[standingOf(w)].word },
  { key: 'soon', head: 'Soonest', kind: 'place wide', value: soonness },
  { key: 'last', head: 'Last', kind: 'last', value: priceOf },
  { key: 'distance', head: 'To pivot', value: distanceOf },
  { key: 'volume', head: 'Volume', kind: 'wide', value: (w) => known(w.volume.normal) ? w.volume.so_far / w.volume.normal : null },
  { key: 'surge', head: 'Surge', kind: 'wide', value: (w) => w.volume.surge },
  { key: 'odds', head: 'Odds', kind: 'odds', value: (w) => w.volume.odds },
];
function drawHead(column) {
  const head = make('th', undefined, column.kind === 'last' ? '' : column.kind);
  head.scope = 'col';
  column.button = head.appendChild(make('button'));
  column.button.type = 'button';
  column.button.addEventListener('click', () => {
    sort = { key: column.key, down: sort.key === column.key ? !sort.down : ['surge', 'odds', 'last', 'volume'].includes(column.key) };
    drawBoard();
  });
  column.cell = head;
  find('heads').appendChild(head);
}
function showSort() {
  for (const column of COLUMNS) {
    const here = column.key === sort.key;
    set(column.cell, 'aria-sort', here ? (sort.down ? 'descending' : 'ascending') : 'none');
    say(column.button, column.head + (here ? (sort.down ? ' ↓' : ' ↑') : ''));
  }
  say(find('order'), sort.key === 'soon' && !sort.down ? 'Watches, those that matter soonest first'
    : 'Watches by ' + COLUMNS.find((c) => c.key === sort.key).head.toLowerCase());
}
function sorted(watches) {
  const value = COLUMNS.find((c) => c.key === sort.key).value;
  const keyed = watches.map((watch) => ({ watch, name: nameOf(watch), key: value(watch) }));
  keyed.sort((a, b) => {
    if (known(a.key) !== known(b.key)) return known(a.key) ? -1 : 1;  // what is not known comes last, either way
    if (a.key === b.key || !known(a.key)) return a.name < b.name ? -1 : 1;
    return (a.key < b.key ? -1 : 1) * (sort.down ? -1 : 1);
  });
  return keyed.map((one) => one.watch);
}

// --- rows
function makeRow(name) {
  const row = make('tr'), cells = {};
  for (const column of COLUMNS) cells[column.key] = row.appendChild(make(column.key === 'symbol' ? 'th' : 'td', undefined, column.kind));
  cells.symbol.scope = 'row';
  const button = cells.symbol.appendChild(make('button'));
  button.type = 'button';
  row.addEventListener('click', () => onChoice(name));  // a finger hits the row sooner than its name
  button.addEventListener('keydown', (event) => {
    const step = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0, shown = [...find('rows').querySelectorAll('th[scope=row] button')];
    const next = step ? shown[shown.indexOf(button) + step] : null;
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
  const standing = cells.side.appendChild(make('span')), far = cells.side.appendChild(make('small', '', 'far'));
  const last = make('span'), old = make('small', '', 'age');
  cells.last.append(last, ' ', old);
  const weight = make('span', '', 'weight'), number = make('span', '', 'number'), stale = make('small', 'old', 'stale');
  cells.odds.append(weight, ' ', number, ' ', stale);
  return { row, cells, button, standing, far, last, old, weight, number, stale, line: makeDayLine(cells.soon), bar: makeVolumeBar(cells.volume), name };
}
function ageOf(watch, now) {
  if (!known(watch.last)) return known(watch.last_close) ? 'last close' : '';
  if (!known(watch.last_time)) return '';
  if (state.latest.session !== 'open') return watch.last_time.slice(0, 10) === state.latest.day ? clock(watch.last_time).slice(0, 5) : watch.last_time.slice(5, 10);
  return age((now - Date.parse(watch.last_time)) / 1000);
}
// Odds are not drawn anew while nothing is seen: they are those of when the feed was last believed, and marked so.
export const volumeOf = (watch) => (state.blind && state.seen.get(nameOf(watch))) || watch.volume;
function fillVolume(kept, watch) {
  const v = volumeOf(watch);
  say(kept.cells.surge, known(v.surge) ? signed(v.surge, 0) + ' %' : '–');
  say(kept.weight, known(v.odds) ? WEIGHTS[v.weight] + ' ' + v.weight : '');
  say(kept.number, known(v.odds) ? odds(v) : '–');
  mark(kept.cells.odds, 'odds ' + (known(v.odds) ? v.weight : '') + (state.blind ? ' old' : ''));
  hide(kept.stale, !state.blind || !known(v.odds));
  fillVolumeBar(kept.bar, watch);
  set(kept.cells.volume, 'title', shares(v.so_far) + (known(v.normal) ? ' of ' + shares(v.normal * (1 + v.needed / 100)) + ' needed' : ''));
}
function fillRow(kept, watch, many, now) {
  const standing = standingOf(watch), chosen = kept.name === state.chosen && state.open, distance = distanceOf(watch);
  say(kept.button, many ? watch.symbol + ' ' + price(watch.pivot) : watch.symbol);
  set(kept.button, 'aria-pressed', String(chosen));
  mark(kept.row, (chosen ? 'chosen ' : '') + (standing === 'off' ? 'idle' : ''));
  say(kept.standing, STANDINGS[standing].shape + ' ' + STANDINGS[standing].word);
  mark(kept.cells.side, 'side ' + standing);
  if (STANDINGS[standing].more) set(kept.cells.side, 'title', STANDINGS[standing].more);
  else kept.cells.side.removeAttribute('title');
  say(kept.last, priceOf(watch) === null ? '–' : price(priceOf(watch)));
  mark(kept.last, kept.last.textContent.length > 8 ? 'long' : '');
  say(kept.old, ageOf(watch, now));
  say(kept.cells.distance, distance === null ? '–' : signed(distance, 2) + ' %');
  say(kept.far, kept.cells.distance.textContent);
  fillDayLine(kept.line, watch);
  fillVolume(kept, watch);
}
// The rows over each group, where the list stands in groups.
function fillHeads(shown) {
  const counts = new Map();
  if (isGrouped()) for (const watch of shown) counts.set(groupOf(watch), (counts.get(groupOf(watch)) || 0) + 1);
  for (const [key, row] of heads) if (!counts.has(key)) { row.remove(); heads.delete(key); }
  for (const [key, many] of counts) {
    if (!heads.has(key)) {
      const row = make('tr', undefined, 'group'), cell = row.appendChild(make('th'));
      cell.colSpan = COLUMNS.length;
      cell.scope = 'colgroup';
      heads.set(key, row);
    }
    say(heads.get(key).firstChild, groupWords(key, many));
  }
  return counts.size > 0;
}
export function showAges(now) {
  for (const [name, kept] of rows) if (kept.watch && name) say(kept.old, ageOf(kept.watch, now));
}
export function drawBoard() {
  if (!state.latest) return;
  showSort();
  showNarrowing();
  const shown = byGroup(sorted(state.latest.watches.filter(fits))), body = find('rows'), focus = document.activeElement, now = Date.parse(state.latest.time);
  if (!state.latest.watches.some((w) => nameOf(w) === state.chosen)) state.chosen = shown.length ? nameOf(shown[0]) : null;
  const names = new Set(shown.map(nameOf)), pivots = new Map();
  for (const watch of state.latest.watches) pivots.set(watch.symbol, (pivots.get(watch.symbol) || 0) + 1);
  for (const [name, kept] of rows) if (!names.has(name)) { kept.row.remove(); rows.delete(name); }
  const groups = fillHeads(shown);
  let next = body.firstElementChild, group = '';
  const place = (row) => {
    while (next && next.id === 'opened') next = next.nextElementSibling;
    if (next !== row) body.insertBefore(row, next);
    else next = next.nextElementSibling;
  };
  for (const watch of shown) {
    const name = nameOf(watch);
    if (!rows.has(name)) rows.set(name, makeRow(name));
    const kept = rows.get(name);
    kept.watch = watch;
    fillRow(kept, watch, pivots.get(watch.symbol) > 1, now);
    if (groups && groupOf(watch) !== group) place(heads.get(group = groupOf(watch)));
    place(kept.row);
  }
  if (focus && focus !== document.activeElement && body.contains(focus)) focus.focus();
  onDrawn();
  mark(find('board'), state.blind ? 'blind' : '');
  const empty = state.latest.watches.length === 0;
  hide(find('none'), !empty);
  for (const part of ['tools', 'table']) hide(find(part), empty);
  hide(find('no-match'), empty || shown.length > 0);
}
export const rowOf = (name) => rows.has(name) ? rows.get(name).row : null;
export function startBoard(chosen, drawn) {
  onChoice = chosen;
  onDrawn = drawn;
  COLUMNS.forEach(drawHead);
  startNarrowing(drawBoard);
  showSort();
}
