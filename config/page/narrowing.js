// What is shown of the list: by list, by side, by a word; and whether it stands in groups.
import { find, state } from './state.js';
import { hide, make, say, set } from './nodes.js';
import { STANDINGS, standingOf } from './standing.js';

const FILTERS = [['all', 'All'], ['inside', 'Inside'], ['under', 'Under'], ['fell', 'Fell back'], ['over', 'Over'], ['other', 'Other']];
const GROUPS = ['inside', 'under', 'fell', 'over', 'other'];
const filters = new Map(), lists = new Map();
let filter = 'all', wanted = '', list = '', grouped = false, onChange = () => {};

const keep = (key, value) => { try { localStorage.setItem(key, value); } catch { /* a browser that keeps nothing still shows it */ } };
const kept = (key) => { try { return localStorage.getItem(key); } catch { return null; } };
export const groupOf = (watch) => STANDINGS[standingOf(watch)].filter;
export const isGrouped = () => grouped;
const inList = (watch) => !list || watch.list === list;
export const fits = (watch) => inList(watch) && (filter === 'all' || groupOf(watch) === filter) &&
  (!wanted || watch.symbol.toLowerCase().includes(wanted) || (watch.note || '').toLowerCase().includes(wanted));
// In groups the order of the groups goes before every other.
export const byGroup = (watches) => !grouped ? watches : GROUPS.flatMap((key) => watches.filter((watch) => groupOf(watch) === key));
export const groupWords = (key, many) => FILTERS.find(([one]) => one === key)[1] + ' ' + many;

function choice(parent, words, choose) {
  const button = find(parent).appendChild(make('button', words));
  button.type = 'button';
  button.addEventListener('click', () => { choose(); onChange(); });
  return button;
}
function showLists() {
  const names = [...new Set(state.latest.watches.map((watch) => watch.list || ''))].filter(Boolean).sort();
  hide(find('lists'), names.length < 2);
  if (names.length < 2) list = '';
  const all = names.length < 2 ? [] : ['', ...names];
  for (const [name, button] of lists) if (!all.includes(name)) { button.remove(); lists.delete(name); }
  for (const name of all) {
    if (!lists.has(name)) lists.set(name, choice('lists', name || 'All lists', () => { list = name; }));
    say(lists.get(name), (name || 'All lists') + ' ' + state.latest.watches.filter((watch) => !name || watch.list === name).length);
    set(lists.get(name), 'aria-pressed', String(list === name));
  }
}
export function showNarrowing() {
  showLists();
  const counts = { all: 0 };
  for (const watch of state.latest.watches.filter(inList)) {
    counts.all += 1;
    counts[groupOf(watch)] = (counts[groupOf(watch)] || 0) + 1;
  }
  for (const [key, { button, word }] of filters) {
    say(button, word + ' ' + (counts[key] || 0));
    set(button, 'aria-pressed', String(filter === key));
  }
  set(find('group'), 'aria-pressed', String(grouped));
}
function listenToSearch() {
  find('search').addEventListener('input', (event) => { wanted = event.target.value.trim().toLowerCase(); onChange(); });
  find('search').addEventListener('keydown', (event) => {
    if (event.key === 'Escape') { event.target.value = wanted = ''; event.target.blur(); onChange(); }
  });
  addEventListener('keydown', (event) => {
    if (event.key !== '/' || event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|TEXTAREA|SELECT)$/.test(document.activeElement.tagName)) return;
    event.preventDefault();
    find('search').focus();
  });
}
export function startNarrowing(changed) {
  onChange = changed;
  grouped = kept('grouped') === 'yes';
  for (const [key, word] of FILTERS) filters.set(key, { button: choice('filters', word, () => { filter = key; }), word });
  find('group').addEventListener('click', () => { grouped = !grouped; keep('grouped', grouped ? 'yes' : 'no'); onChange(); });
  listenToSearch();
}
