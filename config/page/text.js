// One writer for each kind of number, with the rules of the notices (daemon/core/wording.cpp). Pure.
import { known } from './state.js';

const MINUS = '−';
export const signed = (value, digits) => (Number(value.toFixed(digits)) < 0 ? MINUS : '+') + Math.abs(value).toFixed(digits);
// At least cents, and all the digits that a sub-cent price has.
export function price(value) {
  const digits = (String(Math.round(value * 1e6) / 1e6).split('.')[1] || '').length;
  return value.toFixed(Math.max(2, Math.min(6, digits)));
}
// As daemon/core/shares.cpp: three digits.
export function shares(value) {
  for (const [size, letter] of [[1e9, 'B'], [1e6, 'M'], [1e3, 'k']]) {
    const scaled = value / size;
    if (scaled >= 0.9995) return scaled.toFixed(scaled < 9.995 ? 2 : scaled < 99.95 ? 1 : 0) + letter;
  }
  return value.toFixed(0);
}
// Nothing is certain before the close; unsettled odds are rounded to the middle: 0.699 is not the 0.70 of heavy ones.
export function odds(volume) {
  let value = volume.odds;
  if (volume.weight === 'unsettled') value = (value > 0.5 ? Math.floor(value * 100 + 1e-5) : Math.ceil(value * 100 - 1e-5)) / 100;
  return value < 0.005 ? '<0.01' : value >= 0.995 ? '>0.99' : value.toFixed(2);
}
export const count = (many, what) => many + ' ' + what + (many === 1 ? '' : 's');
export const clock = (text) => known(text) ? text.slice(11, 19) : '';
export function age(seconds) {
  if (seconds < 100) return Math.max(0, Math.round(seconds)) + ' s';
  if (seconds < 5400) return Math.round(seconds / 60) + ' min';
  return seconds < 129600 ? Math.round(seconds / 3600) + ' h' : Math.round(seconds / 86400) + ' days';
}
// "2026-11-30T09:30:00-05:00" -> "Mon 30 Nov, 09:30", as the exchange's own clock says it.
export const dayWords = (text) => new Date(text.slice(0, 10) + 'T12:00:00Z')
  .toLocaleDateString('en-GB', { weekday: 'short', day: 'numeric', month: 'short', timeZone: 'UTC' }).replace(',', '');
export const dayAndTime = (text) => dayWords(text) + ', ' + text.slice(11, 16);
// Milliseconds that a time's zone is east of UTC.
export function offsetOf(text) {
  const found = /([+-])(\d\d):(\d\d)$/.exec(text);
  return found ? (found[1] === '-' ? -1 : 1) * (Number(found[2]) * 60 + Number(found[3])) * 60000 : 0;
}
