// Pairing: the one-time code comes in the address's fragment, which no server and no log ever sees, or is typed in.
const find = (id) => document.getElementById(id);
const say = (text) => { find('pair-answer').textContent = text; };

async function pair(code) {
  say('Pairing …');
  let answer = null;
  try {
    const reply = await fetch('/pair', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ code }) });
    if (reply.status === 429) return say('Too many tries. Wait a minute and ask for a new code.');
    answer = await reply.json();
  } catch {
    return say('No answer. Is this device in the same network as Brimwatch?');
  }
  if (answer.error) return say(answer.error);
  say('Paired.');
  location.replace('/');
}

// Whoever follows a link from elsewhere comes without the cookie, once.
async function isPairedAlready() {
  if (sessionStorage.getItem('looked') === location.pathname) return false;
  sessionStorage.setItem('looked', location.pathname);
  try {
    return (await (await fetch('/device')).json()).right !== 'none';
  } catch {
    return false;
  }
}

find('pair-form').addEventListener('submit', (event) => {
  event.preventDefault();
  pair(find('pair-code').value);
});
const code = location.hash.slice(1);
history.replaceState(null, '', location.pathname + location.search);
if (code) pair(code);
else if (location.pathname !== '/pair' && await isPairedAlready()) location.replace(location.pathname + location.search);
