// What runs while no page is open: it shows what is pushed, and takes what is said to it. Nothing is kept for offline: an old
// price is worse than none.
const ACTIONS = [{ action: 'acknowledge', title: 'Seen' }, { action: 'mute', title: 'Mute 1 hour' }];
const REQUESTS = { acknowledge: (id) => ({ ask: 'acknowledge', notice: id }), mute: (id) => ({ ask: 'mute', notice: id, for: 'hour' }) };

async function show(text) {
  let said = { title: 'Brimwatch', lines: ['A notice that cannot be read here; the page has it.'], id: 'unread' };
  try { said = JSON.parse(text); } catch { /* shown as such: a push without a word is not allowed */ }
  return self.registration.showNotification(said.title, { body: said.lines.join('\n'), tag: said.id, data: said,
    timestamp: Date.parse(said.time) || undefined, requireInteraction: Boolean(said.urgent), actions: said.symbol ? ACTIONS : [] });
}
async function answer(said, action) {
  const token = (await (await fetch('/token')).json()).token;
  const reply = await fetch('/answer?token=' + encodeURIComponent(token),
    { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(REQUESTS[action](said.id)) });
  const words = await reply.json();
  if (!words.error) return;
  await self.registration.showNotification('Nothing was changed', { body: words.error, tag: said.id, data: said });
}
async function open() {
  const pages = await self.clients.matchAll({ type: 'window' });
  return pages.length ? pages[0].focus() : self.clients.openWindow('/');
}

self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));
self.addEventListener('push', (event) => event.waitUntil(show(event.data ? event.data.text() : '')));
self.addEventListener('notificationclick', (event) => {
  const said = event.notification.data;
  event.notification.close();
  if (!event.action) return event.waitUntil(open());
  event.waitUntil(answer(said, event.action).catch(() => self.registration.showNotification('Nothing was changed',
    { body: 'Brimwatch does not answer: is this device in its network?', tag: said.id, data: said })));
});
