// What the tests of pages share.
// How the browser starts: alone, without the services that it would call at every start.
export const CHROMIUM = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync'];

// The value of `condition` as soon as there is one; what `log()` gives tells why there was none.
export async function until(what, condition, log, most = 60000) {
  for (const end = Date.now() + most; Date.now() < end; await new Promise((go) => setTimeout(go, 20))) {
    const value = await condition();
    if (value) return value;
  }
  throw new Error(`waited in vain for ${what}\n${log()}`);
}
