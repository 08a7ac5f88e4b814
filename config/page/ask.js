// What a link in a mail opens: a question. The link says in its fragment what it stands for, which no browser sends to any
// server; nothing happens before "Yes" is pressed.
import { find } from './state.js';
import { hide, say } from './nodes.js';
import { answer } from './answers.js';

const WORDS = { acknowledge: 'Have you seen this?', bought: 'Did you buy it? Say at what price.' };
const SPANS = { hour: 'Mute it for an hour?', today: 'Mute it for today?', under: 'Mute it until it is under the pivot?' };
let token = null;

function read() {
  const found = /^#answer=([\w-]+)\.[\w-]+$/.exec(location.hash);
  if (!found) return null;
  try {
    return JSON.parse(new TextDecoder().decode(Uint8Array.from(atob(found[1].replace(/-/g, '+').replace(/_/g, '/')), (c) => c.charCodeAt(0))));
  } catch { return {}; }
}
function show() {
  const said = read();
  hide(find('ask'), !said);
  if (!said) return;
  token = location.hash.slice('#answer='.length);
  history.replaceState(null, '', location.pathname);  // it is not to stay in the address, nor in the history
  const [day, symbol, pivot] = String(said.notice || '').split('/');
  say(find('ask-title'), symbol ? symbol + ' ' + pivot + ', ' + day : 'A link from a mail');
  say(find('ask-what'), WORDS[said.ask] || SPANS[said.for] || 'This link says nothing that is known here.');
  hide(find('ask-price'), said.ask !== 'bought');
  say(find('ask-words'), '');
  hide(find('ask-yes'), false);
  find('ask-yes').focus();
}
async function yes() {
  const request = { ask: 'link', token };
  if (find('link-price').value.trim()) request.price = find('link-price').value.trim();
  if (find('link-shares').value.trim()) request.shares = find('link-shares').value.trim();
  if (await answer(request, find('ask-words'))) hide(find('ask-yes'), true);
}
export function startAsk() {
  find('ask-yes').addEventListener('click', yes);
  find('ask-no').addEventListener('click', () => hide(find('ask'), true));
  addEventListener('hashchange', show);
  show();
}
