// The chosen watch. Beside the board on a wide screen; on a narrow one it opens under its row, where the finger is.
import { find, known, nameOf, state } from './state.js';
import { hide, make, mark, say } from './nodes.js';
import { odds, price, signed } from './text.js';
import { STANDINGS, distanceOf, standingOf } from './standing.js';
import { dayOf, drawPrice, drawVolume, hasEnded, lastWords } from './day_charts.js';
import { reportWords } from './coming.js';
import { startLarge } from './large.js';
import { drawBoard, rowOf, volumeOf } from './board.js';

const DAY_EVERY_MS = 20000;  // how often the chosen stock's day is asked for while it moves
const wide = matchMedia('(min-width: 80rem)');
export const symbolOf = (name) => name === null ? null : name.slice(0, name.lastIndexOf('/'));

export async function askDay(now) {
  const symbol = symbolOf(state.chosen);
  if (symbol === null || !state.latest || !state.open) return;
  const kept = state.days.get(symbol), ticks = state.latest.counts.ticks;
  if (!now && kept && (kept.asking || kept.ticks === ticks || Date.now() - kept.asked < DAY_EVERY_MS)) return;
  const asked = { day: kept ? kept.day : null, asked: Date.now(), ticks, asking: true };
  state.days.set(symbol, asked);
  try {
    const answer = await fetch('/day/' + encodeURIComponent(symbol));
    if (answer.ok) asked.day = await answer.json();
  } catch { /* the banner says that the daemon is away */ }
  asked.asking = false;
  drawDetail();
}
// The picture of the base, where the daemon has one; asked for once a stock.
function showBase(watch) {
  const figure = find('base-figure'), picture = find('base-picture'), name = watch ? watch.symbol : '';
  if (figure.dataset.symbol === name) return;
  figure.dataset.symbol = name;
  figure.hidden = true;
  mark(find('pictures'), '');
  picture.removeAttribute('src');
  if (!name) return;
  picture.alt = 'Daily prices and volume of ' + name + ' with the points of its base';
  picture.onload = () => {
    figure.hidden = picture.naturalWidth < 2;
    mark(find('pictures'), figure.hidden ? '' : 'with-base');
    drawDetail();
  };
  picture.src = '/base/' + encodeURIComponent(name) + '.svg#beside';
}
function words(watch) {
  const v = volumeOf(watch), standing = STANDINGS[standingOf(watch)], distance = distanceOf(watch);
  return standing.shape + ' ' + standing.word + (standing.more ? ' (' + standing.more + ')' : '') + lastWords(watch) +
    (distance === null ? '' : ', ' + signed(distance, 2) + ' % from the pivot') +
    (hasEnded(state.latest) ? '' : known(v.odds) ? '; odds of +' + v.needed + ' %: ' + odds(v) + ', ' + v.weight + (state.blind ? ', OLD' : '') : '; volume not judged') +
    (watch.mute && watch.mute.length ? '. Bear in mind: ' + watch.mute.join('; ') : '') +
    (reportWords(watch) ? '; ' + reportWords(watch) : '');
}
function legend(day, v) {
  const projected = known(v.projected) && !hasEnded(state.latest);
  return (day.usual.length && known(v.normal) ? 'Thin line: a normal day. ' : '') +
    (projected ? 'Dashed: on the usual course to the projected end; shaded: its 80 % interval as the day went. ' : '') +
    (day.marks.length ? 'Ring: a notice. ' : '') + (day.holes.length ? 'Grey: the feed was blind.' : '');
}
// Puts the detail where it belongs: under the chosen row, or back beside the board.
export function placeDetail() {
  const detail = find('detail'), row = state.open && state.chosen !== null ? rowOf(state.chosen) : null;
  let opened = find('opened');
  if (wide.matches || !row) {
    if (detail.parentElement !== find('side')) find('side').prepend(detail);
    if (opened) opened.remove();
    hide(detail, !wide.matches);
    return;
  }
  if (!opened) {
    opened = make('tr');
    opened.id = 'opened';
    const cell = opened.appendChild(make('td'));
    cell.colSpan = 8;
    cell.appendChild(detail);
  }
  hide(detail, false);
  if (row.nextElementSibling !== opened) row.after(opened);
}
export function drawDetail() {
  const watch = state.latest && state.latest.watches.find((w) => nameOf(w) === state.chosen);
  find('price-figure').hidden = !watch;
  find('volume-figure').hidden = !watch || (!watch.volume.so_far && state.latest.session !== 'open');  // no day, no picture of it
  say(find('detail-title'), watch ? watch.symbol + ' at ' + price(watch.pivot) : 'No watch chosen');
  if (!watch) say(find('detail-words'), '');
  say(find('detail-note'), watch ? watch.note : '');
  hide(find('detail-note'), !watch || !watch.note);
  showBase(watch && state.open ? watch : null);
  if (!watch || find('detail').hidden) return;
  const day = dayOf(watch), v = volumeOf(watch);
  say(find('detail-words'), words(watch));
  drawPrice(watch, day);
  drawVolume(watch, v, day);
  say(find('day-words'), legend(day, v));
}
export function choose(name) {
  state.open = wide.matches || state.chosen !== name || !state.open;
  state.chosen = name;
  drawBoard();
  askDay(true);
  drawDetail();
}
export function startDetail() {
  startLarge();
  state.open = wide.matches;
  wide.addEventListener('change', () => { state.open = wide.matches; drawBoard(); placeDetail(); drawDetail(); });
  addEventListener('resize', () => { if (state.latest) drawDetail(); });
}
