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
const DENIED = 'This browser was told not to show notices of this page. Allow them in its settings for this page, then load it anew.';
// Why this browser cannot be notified as it stands, and what to do; empty: it can.
function hindrance() {
  const homeScreenOnly = /iPhone|iPad|iPod/.test(navigator.userAgent) || (navigator.platform === 'MacIntel' && navigator.maxTouchPoints > 1);
  if (homeScreenOnly && !('PushManager' in window))
    return 'On this device notices come to pages of the home screen only: choose Share, Add to Home Screen, and open Brimwatch from there.';
  if (!('serviceWorker' in navigator) || !('PushManager' in window) || !('Notification' in window))
    return 'This browser cannot be notified while the page is closed: it offers no push here (a private window offers none).';
  return Notification.permission === 'denied' ? DENIED : '';
}
async function start() {
  if (await Notification.requestPermission() !== 'granted') return show(DENIED);
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
  key = (await (await fetch('/device')).json()).push_key;
  if (!key) return;  // no push channel is configured
  const why = hindrance();
  hide(find('push-button'), true);  // until there is something that a press would reach
  hide(find('push'), false);
  if (why) return say(find('push-words'), why);
  try {
    worker = await navigator.serviceWorker.register('/worker.js');
  } catch (trouble) {
    return say(find('push-words'), 'This browser keeps nothing that could run while the page is closed (a private window?): ' + trouble.message);
  }
  find('push-button').addEventListener('click', press);
  await show();
  hide(find('push-button'), false);
}
