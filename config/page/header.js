// What stands over the board: session, clocks, the line to the daemon, and the banner when the page must not be believed.
import { find, state } from './state.js';
import { make, mark, say } from './nodes.js';
import { dayAndTime, offsetOf } from './text.js';
import { iconOf, isBlind, isGone, sessionWords, titleOf, warnings } from './trust.js';

// The exchange's time now: the snapshot's, run on by our clock. A day that is played runs at a speed of its own.
export function exchangeNow() {
  const then = Date.parse(state.latest.time);
  return state.latest.rehearsal ? then : then + Date.now() - state.heard;
}
const hereOffset = () => -new Date().getTimezoneOffset() * 60000;
const timeAt = (ms, offset) => new Date(ms + offset).toISOString().slice(11, 19);
function opensWords(text) {
  if (!text) return '';
  const here = new Date(Date.parse(text)), there = dayAndTime(text);
  return there + (state.offset === hereOffset() ? '' : ' (' + here.toTimeString().slice(0, 5) + ' here)');
}
function showClock() {
  const now = exchangeNow();
  say(find('clock'), 'Exchange ' + timeAt(now, state.offset) +
    (state.offset === hereOffset() || state.latest.rehearsal ? '' : ' · here ' + timeAt(Date.now(), hereOffset())));
  const trend = state.latest.trend === 'unknown' ? 'not set' : state.latest.trend;
  say(find('session'), state.latest.day + '. ' + sessionWords(state.latest, opensWords(state.latest.next_open)));
  say(find('trend'), '. Market trend: ' + trend);
}
function showBanner(found) {
  const banner = find('banner'), lines = found.map((one) => one.word + '\n' + one.text).join('\n');
  banner.hidden = !found.length;
  mark(banner, found.length ? found[0].level : '');
  if (banner.dataset.lines === lines) return;
  banner.dataset.lines = lines;
  banner.textContent = '';
  for (const one of found) {
    const line = banner.appendChild(make('p', undefined, one.level));
    line.append(make('strong', one.word), ' ' + one.text);
  }
}
function showTab(found) {
  const title = titleOf(state.latest, found), icon = iconOf(state.latest, found);
  if (document.title !== title) document.title = title;
  if (find('icon').href !== icon) find('icon').href = icon;
}
// True while no price can be believed; what was seen before is kept for its odds.
export function judge() {
  state.offset = offsetOf(state.latest.time);
  state.blind = isGone(state.heard, Date.now()) || isBlind(state.latest);
  if (!state.blind) state.seen = new Map(state.latest.watches.map((w) => [w.symbol + '/' + w.pivot, w.volume]));
}
export function drawHeader() {
  const gone = isGone(state.heard, Date.now());
  say(find('line-shape'), !state.latest || gone ? '◌' : state.blind ? '◍' : '●');
  say(find('line-text'), !state.latest ? 'connecting' : gone ? 'not live' : state.blind ? 'blind' : 'live');
  mark(find('line'), gone || state.blind ? 'late' : '');
  if (!state.latest) return;
  const found = warnings(state.latest, state.heard, Date.now());
  showClock();
  showBanner(found);
  showTab(found);
}
