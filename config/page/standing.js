// Where a watch stands, in a shape and a word, and how soon it matters. Pure.
import { known, state } from './state.js';

// A failed breakout (filled) is not the same as one that never came (hollow); a price that has slipped under the pivot
// still counts as inside until it has fallen far enough, and must not read as inside.
export const STANDINGS = {
  inside: { shape: '◆', word: 'inside', filter: 'inside' },
  slipped: { shape: '◈', word: 'just under', filter: 'inside', more: 'was inside; the last trade is under the pivot' },
  under: { shape: '▽', word: 'under', filter: 'under', more: 'has not reached the pivot today' },
  fell: { shape: '▼', word: 'fell back', filter: 'fell', more: 'was over the pivot and has fallen back under it' },
  over: { shape: '▲', word: 'over', filter: 'over', more: 'over the buy range' },
  unknown: { shape: '·', word: 'no trade', filter: 'other' },
  wasInside: { shape: '◇', word: 'was inside', filter: 'inside', more: 'by its last close; it has not traded yet' },
  wasUnder: { shape: '▽', word: 'was under', filter: 'under', more: 'by its last close; it has not traded yet' },
  wasOver: { shape: '△', word: 'was over', filter: 'over', more: 'by its last close; it has not traded yet' },
  off: { shape: '–', word: 'off today', filter: 'other' },
};
// While nothing has traded: where the last close would stand, and that it is the past.
function standingAtClose(watch) {
  if (watch.last_close < watch.pivot) return 'wasUnder';
  return watch.last_close <= (known(watch.range_top) ? watch.range_top : watch.pivot * 1.05) ? 'wasInside' : 'wasOver';
}
export function standingOf(watch) {
  if (!watch.in_force) return 'off';
  if (watch.side === 'unknown' && !known(watch.last) && known(watch.last_close)) return standingAtClose(watch);
  if (watch.side === 'inside') return known(watch.last) && watch.last < watch.pivot ? 'slipped' : 'inside';
  if (watch.side !== 'under') return watch.side;
  return (known(watch.day_high) && watch.day_high >= watch.pivot) || watch.armed === false ? 'fell' : 'under';
}
export const priceOf = (watch) => known(watch.last) ? watch.last : known(watch.last_close) ? watch.last_close : null;
export const distanceOf = (watch) => priceOf(watch) === null ? null : (priceOf(watch) / watch.pivot - 1) * 100;

const PACE_MINUTES = 10;
const UNKNOWN_MOVE = 0.001;  // of the price a minute, until the stock's own is known
// What the price has gained in the last ten minutes, by the day in short; 0 while that is not known.
function paceOf(brief, last) {
  if (!brief || !brief.minute.length) return 0;
  const until = brief.minute[brief.minute.length - 1] - PACE_MINUTES;
  for (let at = brief.minute.length - 1; at >= 0; --at) if (brief.minute[at] <= until) return last - brief.price[at];
  return 0;
}
// How many of its usual minute moves a stock is from its pivot, if it keeps its pace for ten minutes more.
export function movesToPivot(watch) {
  const price = priceOf(watch), brief = state.brief[watch.symbol];
  if (price === null) return Infinity;
  const move = (brief && brief.move) || price * UNKNOWN_MOVE;
  return Math.max(0, (watch.pivot - price) / move - Math.max(0, paceOf(brief, price)) / move);
}
const ABOUT_TO_CROSS = 10;
// Smaller is sooner: inside and heavy, inside and unsettled, about to cross, inside and light, the others by nearness.
export function soonness(watch) {
  const standing = standingOf(watch), near = (group, by) => group * 1e9 + Math.min(by, 9e8);
  const depth = Math.abs(distanceOf(watch) || 0), weight = watch.volume.weight;
  if (standing === 'inside') return near(weight === 'heavy' ? 0 : weight === 'light' ? 4 : 1, depth);
  if (standing === 'slipped') return near(2, depth);
  const moves = movesToPivot(watch);
  if (standing === 'under' || standing === 'fell') return near(standing === 'under' && moves <= ABOUT_TO_CROSS ? 3 : 5, moves);
  if (standing.startsWith('was')) return near(7, moves);
  return near(standing === 'over' ? 6 : standing === 'unknown' ? 8 : 9, depth);
}
export const WEIGHTS = { heavy: '●', unsettled: '◐', light: '○', unknown: '' };
