// Whether the page may be believed, and what stands over everything when it may not. Pure.
import { age, clock, count } from './text.js';
import { standingOf } from './standing.js';

const GONE_AFTER_MS = 12000;
const LATE_SECONDS = 60, ANOTHER_DAY_SECONDS = 43200;

export const isGone = (heard, now) => heard > 0 && now - heard > GONE_AFTER_MS;
export const isBlind = (snapshot) => snapshot.session === 'open' && !snapshot.feeds.some((feed) => feed.carrying);

function whyBlind(snapshot) {
  if (!snapshot.feeds.length) return 'No feed is configured.';
  return snapshot.feeds.map((feed) => 'Feed ' + feed.name + ': ' + (feed.state === 'up' ? 'connected, but silent' : feed.state) +
    (feed.silent_seconds > 0 ? ' for ' + age(feed.silent_seconds) : '') + (feed.text ? ', ' + feed.text : '')).join('. ') + '.';
}
function lateness(snapshot) {
  const lags = snapshot.feeds.filter((feed) => feed.carrying && feed.lag_seconds !== null).map((feed) => feed.lag_seconds);
  const least = lags.length ? Math.min(...lags) : 0;
  if (snapshot.rehearsal || least <= LATE_SECONDS) return null;
  return least > ANOTHER_DAY_SECONDS ? { level: 'doubt', word: 'PAST DAY', text: 'The feed gives prices of ' + snapshot.day + ', ' + age(least) + ' old. They are not today’s.' }
    : { level: 'doubt', word: 'DELAYED', text: 'Prices come ' + age(least) + ' late. What is shown has happened already: look at your broker’s quote.' };
}
// Worst first. level: "stop" (do not believe the prices), "doubt", "note".
export function warnings(snapshot, heard, now) {
  if (!snapshot) return [];
  const found = [];
  if (isGone(heard, now))
    found.push({ level: 'stop', word: 'NOT LIVE', text: 'Nothing from the daemon since ' + new Date(heard).toTimeString().slice(0, 8) +
      ' (your clock). Prices and odds below are from then. See that it runs: brimwatch now.' });
  else if (isBlind(snapshot))
    found.push({ level: 'stop', word: 'BLIND', text: whyBlind(snapshot) + ' A crossing would not be seen. Watch your broker’s prices until the feed is back.' });
  if (snapshot.shared && snapshot.shared.role === 'alone')
    found.push({ level: 'doubt', word: 'ALONE', text: 'This machine cannot reach the others; another may send the same notices.' });
  if (snapshot.shared && snapshot.shared.role === 'standing by')
    found.push({ level: 'note', word: 'STANDING BY', text: 'This machine watches and tells nothing' + (snapshot.shared.speaker ? ' while ' + snapshot.shared.speaker + ' speaks' + (snapshot.shared.speaks_since ? ' (since ' + clock(snapshot.shared.speaks_since) + ').' : '.') : '.') });
  if (snapshot.configuration && snapshot.configuration.refused)
    found.push({ level: 'doubt', word: 'RELOAD REFUSED', text: 'The configuration read at ' + clock(snapshot.configuration.read).slice(0, 5) +
      ' was refused, and the one before it is in force: ' + snapshot.configuration.refused });
  if (snapshot.journal_trouble)
    found.push({ level: 'doubt', word: 'NOT KEPT', text: 'Notices are sent but not stored: ' + snapshot.journal_trouble });
  const late = lateness(snapshot);
  if (late) found.push(late);
  if (snapshot.rehearsal) found.push({ level: 'doubt', word: 'REHEARSAL', text: 'A day that is past is being played. Nothing here happens now.' });
  if (snapshot.trend === 'down') found.push({ level: 'note', word: 'MARKET DOWN', text: 'Most breakouts fail in a falling market.' });
  return found;
}
// What the tab says first: a market that falls is no reason to doubt what is shown, and is said behind.
const worstOf = (found) => found.find((one) => one.level !== 'note') || found.find((one) => one.word === 'STANDING BY');
export function titleOf(snapshot, found) {
  if (!snapshot) return 'Brimwatch';
  const inside = snapshot.watches.filter((watch) => standingOf(watch) === 'inside');
  const heavy = inside.filter((watch) => watch.volume.weight === 'heavy').length;
  const what = snapshot.session !== 'open' ? 'market closed' : inside.length + ' inside' + (heavy ? ', ' + heavy + ' heavy' : '') +
    (snapshot.trend === 'down' ? ', market down' : '');
  const worst = worstOf(found);
  if (worst && worst.level === 'stop') return worst.word + ' – Brimwatch';  // what stands below is no news
  return (worst ? worst.word + ' – ' : '') + what + ' – Brimwatch';
}
// A picture of 16 x 16: a level over a brim, under a falling line in a falling market; crossed out when the page must not be
// believed, two bars on a machine that stands by. Shapes differ, not only colours.
export function iconOf(snapshot, found) {
  const worst = worstOf(found);
  const inside = snapshot && snapshot.session === 'open' && snapshot.watches.some((watch) => standingOf(watch) === 'inside');
  const cross = "<path d='M3 3L13 13M13 3L3 13' stroke='#d55e00' stroke-width='3'/>";
  const ring = "<circle cx='8' cy='8' r='6' fill='none' stroke='#e69f00' stroke-width='3'/>";
  const bars = "<path d='M5 2V14M11 2V14' stroke='#0072b2' stroke-width='3'/>";
  const fall = snapshot && snapshot.trend === 'down' ? "<path d='M2 2L13 7' stroke='#d55e00' stroke-width='2'/>" : '';
  const brim = fall + "<path d='M1 10H15' stroke='#0072b2' stroke-width='2'/>" + (inside ? "<path d='M8 2l5 5l-5 5l-5-5z' fill='#0072b2'/>" : "<path d='M4 13h8' stroke='#888' stroke-width='2'/>");
  const drawn = !worst ? brim : worst.level === 'stop' ? cross : worst.level === 'note' ? bars : ring;
  return 'data:image/svg+xml,' + encodeURIComponent("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 16 16'>" + drawn + '</svg>');
}
// "market open, half-day", or when it opens next.
export function sessionWords(snapshot, opens) {
  const half = snapshot.half_day ? ', half-day' : '';
  if (snapshot.session === 'open') return 'Market open to ' + clock(snapshot.close).slice(0, 5) + half;
  const what = snapshot.session === 'break' ? 'Break' : snapshot.session === 'before the open' ? 'Before the open' + half : 'Market closed';
  return what + (opens ? '; opens ' + opens : '');
}
export const countWords = (snapshot) => count(snapshot.counts.ticks, 'tick') + ', ' + count(snapshot.counts.notices, 'notice') + ', ' + count(snapshot.counts.holes, 'hole');
