// "Notify this device": the browser's own push service brings notices here while no page is open. The daemon is told where,
// and seals each notice so that this browser alone can read it.
import { find } from './state.js';
import { hide, say } from './nodes.js';

const bytesOf = (text) => Uint8Array.from(atob(text.replace(/-/g, '+').replace(/_/g, '/')), (c) => c.charCodeAt(0));
let worker = null, key = null;

const post = (path, body) => fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });

async function show(words) {
  const subscription = worker && await worker.pushManager.getSubscription();
  say(find('push-button'), subscription ? 'Stop notifying this device' : 'Notify this device');
  say(find('push-words'), words || (subscription ? 'Notices come here, also while this page is closed.' : ''));
}
async function start() {
  if (await Notification.requestPermission() !== 'granted') return show('This browser was told not to show notices of this page.');
  const subscription = await worker.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytesOf(key) });
  const answer = await (await post('/push', subscription)).json();
  if (!answer.error) return show();
  await subscription.unsubscribe();
  return show('Not done: ' + answer.error);
}
async function stop(subscription) {
  await post('/push/off', { endpoint: subscription.endpoint });
  await subscription.unsubscribe();
  return show();
}
async function press() {
  find('push-button').disabled = true;
  try {
    const subscription = await worker.pushManager.getSubscription();
    await (subscription ? stop(subscription) : start());
  } catch (trouble) {
    await show('Not done: ' + trouble.message);
  }
  find('push-button').disabled = false;
}
export async function startPush() {
  if (!('serviceWorker' in navigator) || !('PushManager' in window)) return;
  key = (await (await fetch('/device')).json()).push_key;
  if (!key) return;  // no push channel is configured
  worker = await navigator.serviceWorker.register('/worker.js');
  hide(find('push'), false);
  find('push-button').addEventListener('click', press);
  await show();
}
