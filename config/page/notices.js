// Notices with what became of them; feeds and channels.
import { find, known, state } from './state.js';
import { seenButton } from './answers.js';
import { hide, make, mark, say } from './nodes.js';
import { age, clock, count } from './text.js';
import { countWords } from './trust.js';

const told = new Set();
const sentWords = (notice) => !notice.deliveries || !notice.deliveries.length ? 'Goes to no channel.'
  : notice.deliveries.map((d) => d.channel + ': ' + d.state + (d.reply && d.state !== 'delivered' ? ' (' + d.reply + ')' : '')).join('; ');
function makeNotice(notice) {
  const item = make('li'), more = item.appendChild(make('details')), head = more.appendChild(make('summary')), when = make('time', clock(notice.time));
  item.dataset.id = notice.id;
  when.dateTime = notice.time;
  head.append(when, notice.title);
  const seen = make('p'), words = make('span', '', 'small');
  words.setAttribute('role', 'status');
  seen.append(seenButton(notice, words), ' ', words);
  more.append(make('p', notice.text), make('p', '', 'sent small'), seen);
  return item;
}
export function drawNotices() {
  const list = find('notice-list'), byId = new Map(state.latest.notices.map((n) => [n.id, n]));
  for (const notice of state.latest.notices.slice().reverse()) {
    if (told.has(notice.id)) continue;
    told.add(notice.id);
    list.prepend(makeNotice(notice));
  }
  for (const item of [...list.children]) {  // what became of a notice changes after it was told
    const notice = byId.get(item.dataset.id);
    if (notice) say(item.querySelector('.sent'), sentWords(notice));
    else { told.delete(item.dataset.id); item.remove(); }
  }
  const newest = state.latest.notices[0];
  find('no-notice').hidden = list.children.length > 0;
  say(find('to-notices'), newest ? 'Notices ' + list.children.length + ': ' + clock(newest.time).slice(0, 5) + ' ' + newest.title : 'Notices: none yet');
}
function fill(list, lines) {
  while (list.children.length > lines.length) list.lastChild.remove();
  lines.forEach((line, place) => {
    const item = list.children[place] || list.appendChild(make('li'));
    say(item, line.text);
    mark(item, line.bad ? 'bad' : '');
  });
}
const plus = (many, word) => many ? ', ' + many + ' ' + word : '';
function feedLine(f) {
  return { bad: f.state === 'stopped' || f.state === 'failed' || f.state === 'down', text: 'Feed ' + f.name + ' (' + f.kind + '): ' + f.state +
    (f.carrying ? ', carrying' : '') + (f.text ? ', ' + f.text : '') + '; ' + count(f.ticks, 'tick') +
    (known(f.lag_seconds) ? ', ' + (f.lag_seconds > 3600 ? 'a recorded or late day' : 'lag ' + f.lag_seconds.toFixed(1) + ' s') : '') +
    (known(f.silent_seconds) ? ', silent ' + age(f.silent_seconds) : '') + plus(f.malformed, 'unreadable') };
}
function channelLine(c) {
  return { bad: c.dead > 0, text: 'Channel ' + c.name + ' (' + c.kind + '): ' + c.state + '; ' + c.delivered + ' delivered, ' + c.waiting + ' waiting' +
    plus(c.retried, 'tried again') + plus(c.dead, 'given up') + plus(c.expired, 'too old') + plus(c.unknown, 'unsure') };
}
// What the configuration in force was warned of, as `brimwatch check` says it.
function warningLines(configuration) {
  const warnings = configuration ? configuration.warnings || [] : [], shown = warnings.slice(0, 5).map((text) => ({ text: 'Configuration: ' + text, bad: true }));
  return warnings.length > shown.length ? [...shown, { text: 'and ' + (warnings.length - shown.length) + ' more; brimwatch check has all' }] : shown;
}
// Of several machines: who speaks, since when, who stands by, and how fresh that is.
function membersLine(shared) {
  const others = (shared.members || []).filter((one) => one.name !== shared.speaker).map((one) => one.name);
  return (shared.speaker ? shared.speaker + ' speaks' + (shared.speaks_since ? ' since ' + clock(shared.speaks_since) : '') : 'Nobody speaks that is known of') +
    (others.length ? '; standing by: ' + others.join(', ') : '; nobody stands by') + '; this machine is ' + shared.name +
    (known(shared.silent_seconds) ? '; etcd answered ' + age(shared.silent_seconds) + ' ago' : '') +
    plus(shared.answers_waiting, 'of your answers not known to the others yet');
}
export function drawWays() {
  const shared = state.latest.shared;
  find('members').hidden = !shared;
  if (shared) say(find('members'), membersLine(shared));
  mark(find('members'), shared && shared.trouble ? 'bad' : '');
  fill(find('feeds'), state.latest.feeds.map(feedLine));
  fill(find('channels'), state.latest.channels.map(channelLine));
  fill(find('warnings'), warningLines(state.latest.configuration));
  hide(find('warnings'), !find('warnings').children.length);
  say(find('counts'), countWords(state.latest) + (state.latest.journal_trouble ? '. Journal: ' + state.latest.journal_trouble : ''));
  mark(find('counts'), state.latest.journal_trouble ? 'bad' : '');
}
