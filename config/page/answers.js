// What is said back: mute, drop, add, bought, sold, seen. Each is one POST to our own daemon, which says in one line what
// has come of it; what is shown afterwards comes with the next snapshot like everything else.
import { find, known, nameOf, state } from './state.js';
import { hide, make, say } from './nodes.js';
import { clock, count, price, signed } from './text.js';

const SPANS = [['hour', 'Mute 1 hour'], ['today', 'Mute today'], ['under', 'Mute until under the pivot']];
let token = null, asked = null;  // asked: name of the watch that is about to be dropped

async function tokenOf() {
  if (!token) token = (await (await fetch('/token')).json()).token;
  return token;
}
async function post(request) {
  return fetch('/answer?token=' + await tokenOf(), { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(request) });
}
// One line: what has come of it, or why nothing was changed.
export async function answer(request, where) {
  say(where, 'Asking …');
  try {
    let got = await post(request);
    if (got.status === 403) { token = null; got = await post(request); }  // the daemon was started anew
    const text = await got.text();
    let words = { error: text.trim() };
    try { words = JSON.parse(text); } catch { /* the server's own words */ }
    say(where, words.done || 'Nothing was done: ' + words.error);
    return got.ok;
  } catch {
    say(where, 'Nothing was done: the daemon does not answer.');
    return false;
  }
}
const chosen = () => state.latest && state.latest.watches.find((w) => nameOf(w) === state.chosen);
const about = (watch, more) => ({ symbol: watch.symbol, pivot: price(watch.pivot), ...more });
function button(text, press) {
  const made = make('button', text);
  made.type = 'button';
  made.addEventListener('click', press);
  return made;
}
function say_of(watch, more) {
  asked = null;
  answer(about(watch, more), find('answer-words'));
}
function drop(watch) {
  if (asked !== nameOf(watch)) { asked = nameOf(watch); return drawAnswers(); }
  say_of(watch, { ask: 'drop' });
}
// Bought: one's own price, and how many if one likes. Sold: all of it, or as many as are said; the price is for the review.
async function dealt(watch, ask) {
  asked = null;
  const request = about(watch, { ask }), price = find('own-price').value.trim(), shares = find('own-shares').value.trim();
  if (price || ask === 'bought') request.price = price;
  if (shares) request.shares = shares;
  if (await answer(request, find('answer-words'))) find('own-price').value = find('own-shares').value = '';
}
export function mutedWords(watch) {
  if (watch.muted_under_pivot) return 'Muted until it is under the pivot.';
  return known(watch.muted_until) ? 'Muted until ' + clock(watch.muted_until).slice(0, 5) + '.' : '';
}
export function heldWords(watch) {
  if (!known(watch.bought)) return '';
  const shares = known(watch.shares) ? ', ' + count(watch.shares, 'share') : '';
  return 'Bought at ' + price(watch.bought) + shares + (known(watch.on_bought) ? ', ' + signed(watch.on_bought, 1) + ' %' : '') +
    '; loss limit ' + price(watch.loss_limit) + '.';
}
export function drawAnswers() {
  const watch = chosen();
  hide(find('answers'), !watch);
  if (!watch) return;
  const muted = Boolean(mutedWords(watch)), held = known(watch.bought);
  say(find('answer-state'), [mutedWords(watch), heldWords(watch), watch.added ? 'Added by an answer.' : ''].filter(Boolean).join(' '));
  for (const [span] of SPANS) hide(find('mute-' + span), muted);
  hide(find('unmute'), !muted);
  hide(find('sold'), !held);
  hide(find('drop'), held);
  say(find('drop'), asked === nameOf(watch) ? 'Really drop ' + watch.symbol + ' ' + price(watch.pivot) + '?' : 'Drop');
}
async function add() {
  const request = { ask: 'add', symbol: find('add-symbol').value.trim(), pivot: find('add-pivot').value.trim() };
  for (const key of ['note', 'until']) if (find('add-' + key).value.trim()) request[key] = find('add-' + key).value.trim();
  if (await answer(request, find('add-words'))) for (const key of ['symbol', 'pivot', 'note', 'until']) find('add-' + key).value = '';
}
// "Seen": on each notice.
export function seenButton(notice, where) {
  return button('Seen', () => answer({ ask: 'acknowledge', notice: notice.id }, where));
}
export function startAnswers() {
  const group = find('answer-buttons');
  for (const [span, word] of SPANS) group.append(button(word, () => say_of(chosen(), { ask: 'mute', for: span })));
  [...group.children].forEach((one, i) => { one.id = 'mute-' + SPANS[i][0]; });
  for (const [id, word, press] of [['unmute', 'Unmute', () => say_of(chosen(), { ask: 'unmute' })], ['drop', 'Drop', () => drop(chosen())]]) group.append(Object.assign(button(word, press), { id }));
  for (const ask of ['bought', 'sold']) find(ask).addEventListener('click', () => dealt(chosen(), ask));
  find('add-now').addEventListener('click', add);
}
