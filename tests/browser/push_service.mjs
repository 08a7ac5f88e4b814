// A push service of the tests' own (RFC 8030), over TLS: it keeps what it is sent, and judges it by other hands: the
// signature by Node's own cryptography, the contents by the reference library http_ece as the browser would.
import assert from 'node:assert/strict';
import crypto from 'node:crypto';
import https from 'node:https';
import ece from 'http_ece';

const b64 = (bytes) => Buffer.from(bytes).toString('base64url');

export class PushService {
  static async start(certificate, key) {
    const service = new PushService();
    service.server = https.createServer({ cert: certificate, key }, (request, response) => service.take(request, response));
    await new Promise((done) => service.server.listen(0, '127.0.0.1', done));
    service.port = service.server.address().port;
    return service;
  }
  got = [];
  status = 201;
  // A browser's half: keys, and where it is reached.
  subscribe(name) {
    this.browser = crypto.createECDH('prime256v1');
    this.browser.generateKeys();
    this.auth = crypto.randomBytes(16);
    return { endpoint: `https://127.0.0.1:${this.port}/send/${name}`, keys: { p256dh: b64(this.browser.getPublicKey()), auth: b64(this.auth) } };
  }
  take(request, response) {
    const parts = [];
    request.on('data', (bytes) => parts.push(bytes));
    request.on('end', () => {
      this.got.push({ method: request.method, path: request.url, headers: request.headers, body: Buffer.concat(parts) });
      response.writeHead(this.status, { Location: `https://127.0.0.1:${this.port}/message/1` });
      response.end();
    });
  }
  // RFC 8291 by the reference library.
  open(message) {
    return JSON.parse(ece.decrypt(message.body, { version: 'aes128gcm', privateKey: this.browser, authSecret: b64(this.auth) }).toString());
  }
  // RFC 8292: the token is signed by the key that the browser was subscribed with, for this service, for a day at most.
  judge(message, applicationServerKey) {
    const found = /^vapid t=([\w-]+)\.([\w-]+)\.([\w-]+), k=([\w-]+)$/.exec(message.headers.authorization);
    assert.ok(found, message.headers.authorization);
    const [, head, claims, signature, key] = found;
    assert.equal(key, applicationServerKey);
    const point = Buffer.from(key, 'base64url');
    const jwk = { kty: 'EC', crv: 'P-256', x: b64(point.subarray(1, 33)), y: b64(point.subarray(33, 65)) };
    assert.ok(crypto.verify('sha256', Buffer.from(head + '.' + claims),
      { key: crypto.createPublicKey({ key: jwk, format: 'jwk' }), dsaEncoding: 'ieee-p1363' }, Buffer.from(signature, 'base64url')), 'the signature');
    const said = JSON.parse(Buffer.from(claims, 'base64url'));
    assert.equal(said.aud, `https://127.0.0.1:${this.port}`);
    assert.equal(said.sub, 'mailto:me@example.org');
    const left = said.exp - Date.now() / 1000;
    assert.ok(left > 0 && left <= 86400, 'exp ' + left);
  }
  stop() { this.server.close(); this.server.closeAllConnections(); }
}
