// The two pictures in a row of the board: the line of the day, and the volume that fills a bar.
import { known, state } from './state.js';
import { draw, set } from './nodes.js';
import { priceOf } from './standing.js';

const WIDE = 132, HIGH = 30, END = WIDE - 7;  // in the pictures' own units
const LOWEST = -6, HIGHEST = 8;               // percent from the pivot: one scale for all rows
const EDGE = 5;  // so that the diamond is whole
const yOf = (price, pivot) => HIGH - EDGE - (HIGH - 2 * EDGE) * (Math.min(HIGHEST, Math.max(LOWEST, (price / pivot - 1) * 100)) - LOWEST) / (HIGHEST - LOWEST);

// Pivot as a bar across, the buy range above it as a band, the last price as a diamond at the end of the line.
export function makeDayLine(cell) {
  const svg = draw(cell, 'svg', { viewBox: `0 0 ${WIDE} ${HIGH}`, class: 'dayline', 'aria-hidden': 'true' });
  return { range: draw(svg, 'rect', { x: 0, width: WIDE, class: 'range' }), pivot: draw(svg, 'line', { x1: 0, x2: WIDE, class: 'pivot thin' }),
    line: draw(svg, 'path', { class: 'drawn thin' }), here: draw(svg, 'path', { class: 'here' }) };
}
export function fillDayLine(kept, watch) {
  const y = (price) => yOf(price, watch.pivot).toFixed(1), top = y(known(watch.range_top) ? watch.range_top : watch.pivot * 1.05);
  set(kept.range, 'y', top);
  set(kept.range, 'height', (y(watch.pivot) - top).toFixed(1));
  set(kept.pivot, 'y1', y(watch.pivot));
  set(kept.pivot, 'y2', y(watch.pivot));
  const brief = state.brief[watch.symbol], last = priceOf(watch);
  const minutes = (Date.parse(state.latest.close) - Date.parse(state.latest.open)) / 60000 || 390;
  const x = (minute) => (END * Math.min(1, Math.max(0, minute / minutes))).toFixed(1);
  let path = brief ? brief.minute.map((minute, at) => (at ? 'L' : 'M') + x(minute) + ' ' + y(brief.price[at])).join('') : '';
  const when = Date.parse(watch.last_time), open = Date.parse(state.latest.open);
  const end = Number.isNaN(when) || Number.isNaN(open) || when < open ? 0 : x((when - open) / 60000);
  if (path && known(watch.last)) path += 'L' + end + ' ' + y(last);
  set(kept.line, 'd', path);
  set(kept.here, 'd', last === null ? '' : `M${Math.max(5, end)} ${y(last) - 4}l4 4l-4 4l-4 -4z`);
}

// Full at the needed volume; the notch is where a usual day would be by now on its way to its normal volume.
export function makeVolumeBar(cell) {
  const svg = draw(cell, 'svg', { viewBox: '0 0 90 18', class: 'volumebar', 'aria-hidden': 'true' });
  draw(svg, 'rect', { x: 1, y: 3, width: 88, height: 12, class: 'tub' });
  return { fill: draw(svg, 'rect', { x: 1, y: 3, height: 12, class: 'poured' }), notch: draw(svg, 'path', { class: 'notch' }), svg };
}
export function fillVolumeBar(kept, watch) {
  const v = watch.volume, needed = known(v.normal) ? v.normal * (1 + v.needed / 100) : 0, brief = state.brief[watch.symbol];
  set(kept.svg, 'visibility', needed ? 'visible' : 'hidden');
  if (!needed) return;
  set(kept.fill, 'width', (88 * Math.min(1, v.so_far / needed)).toFixed(1));
  const usual = brief && known(brief.usual) ? 1 + 88 * Math.min(1, v.normal * brief.usual / needed) : null;
  set(kept.notch, 'd', usual === null ? '' : `M${usual.toFixed(1)} 0V18`);
}
