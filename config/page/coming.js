// Reports that come up: a breakout on the eve of a report is another thing than one that is not.
import { find, known, state } from './state.js';
import { hide, make, say } from './nodes.js';
import { count, dayWords } from './text.js';

const DAYS = 14, MOST = 8;
const daysUntil = (day) => Math.round((Date.parse(day) - Date.parse(state.latest.day)) / 86400000);
const inDays = (many) => many === 0 ? 'today' : many === 1 ? 'tomorrow' : 'in ' + count(many, 'day');
export const reportWords = (watch) => known(watch.report) && daysUntil(watch.report) <= DAYS
  ? 'reports ' + dayWords(watch.report) + ', ' + inDays(daysUntil(watch.report)) : '';

export function drawComing() {
  const soon = new Map();
  for (const watch of state.latest.watches) if (reportWords(watch)) soon.set(watch.symbol, watch);
  const shown = [...soon.values()].sort((a, b) => a.report < b.report ? -1 : a.report > b.report ? 1 : a.symbol < b.symbol ? -1 : 1).slice(0, MOST);
  hide(find('coming'), !shown.length);
  const list = find('coming-list');
  while (list.children.length > shown.length) list.lastChild.remove();
  shown.forEach((watch, place) => say(list.children[place] || list.appendChild(make('li')), watch.symbol + ' ' + reportWords(watch)));
}
