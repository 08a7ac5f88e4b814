// Draws the snapshot that /live brings, once a second at the most; what is sent is in answers.js.
import { state } from './state.js';
import { drawBoard, showAges, startBoard } from './board.js';
import { drawComing } from './coming.js';
import { askDay, choose, drawDetail, placeDetail, startDetail } from './detail.js';
import { drawAnswers, startAnswers } from './answers.js';
import { startAsk } from './ask.js';
import { drawHeader, exchangeNow, judge } from './header.js';
import { drawNotices, drawWays } from './notices.js';
import { startPush } from './push.js';

const BRIEF_EVERY_MS = 30000;  // how often the days of all stocks are asked for
let tries = 0, briefAsked = 0;

async function askBrief() {
  if (Date.now() - briefAsked < BRIEF_EVERY_MS) return;
  briefAsked = Date.now();
  try {
    const answer = await fetch('/days'), brief = answer.ok ? await answer.json() : {};
    state.brief = brief.day === state.latest.day && brief.stocks ? brief.stocks : {};
    drawBoard();
  } catch { /* the banner says that the daemon is away */ }
}
function drawAll() {
  judge();
  drawHeader(); drawBoard(); drawDetail(); drawAnswers();
}
function take(text) {
  state.latest = JSON.parse(text);
  state.heard = Date.now();
  drawAll(); drawNotices(); drawWays(); drawComing();
  askBrief(); askDay(false);
}
function connect() {
  const socket = new WebSocket((location.protocol === 'https:' ? 'wss://' : 'ws://') + location.host + '/live');
  socket.addEventListener('message', (event) => { tries = 0; take(event.data); });
  socket.addEventListener('close', () => setTimeout(connect, Math.min(15000, 500 * 2 ** tries++)));
}
function everySecond() {
  if (!state.latest) return drawHeader();
  const before = state.blind;
  judge();
  drawHeader();
  if (before !== state.blind) drawAll();
  else showAges(exchangeNow());
}
startDetail();
startBoard((name) => { choose(name); drawAnswers(); }, placeDetail);
startAnswers();
startAsk();
connect();
setInterval(everySecond, 1000);
startPush().catch(() => { /* no daemon, no push; the banner says so */ });
