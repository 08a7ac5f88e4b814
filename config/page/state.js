// What the page knows: the newest snapshot and what was made of it. The one thing that all modules share.
export const state = {
  latest: null,    // the newest snapshot
  heard: 0,        // our clock, ms, when it came
  chosen: null,    // "SYMBOL/pivot" of the watch that is looked at
  open: false,     // whether its detail is open; on a wide screen it always is
  days: new Map(),  // by symbol: the day of each stock that was looked at
  brief: {},       // by symbol: the days of all stocks in short
  offset: 0,       // of the exchange from UTC, ms
  blind: false,    // no feed carries prices, or the daemon is away
  seen: new Map(),  // by watch: its volume when the feed was last believed
};
export const known = (value) => value !== null && value !== undefined;
export const nameOf = (watch) => watch.symbol + '/' + watch.pivot;
export const find = (id) => document.getElementById(id);
