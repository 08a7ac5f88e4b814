// Ports and certificates for the tests of pages.
import { execFileSync } from 'node:child_process';
import crypto from 'node:crypto';
import fs from 'node:fs';
import net from 'node:net';
import path from 'node:path';

// FOLDER/NAME.pem and .key, for `host` and this machine, good for two days; the certificate's text.
export function certificate(folder, name, host) {
  const file = (ending) => path.join(folder, name + ending);
  execFileSync('openssl', ['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes', '-days', '2', '-keyout', file('.key'),
    '-out', file('.pem'), '-subj', '/CN=' + name, '-addext', `subjectAltName=DNS:${host},IP:127.0.0.1`], { stdio: 'ignore' });
  fs.chmodSync(file('.key'), 0o600);
  return fs.readFileSync(file('.pem'));
}
// Of its public key, by which Chromium is told to trust it.
export function spki(pem) {
  return crypto.createHash('sha256').update(new crypto.X509Certificate(pem).publicKey.export({ type: 'spki', format: 'der' })).digest('base64');
}
export const freePort = () => new Promise((done) => { const probe = net.createServer().listen(0, '127.0.0.1', () => { const { port } = probe.address(); probe.close(() => done(port)); }); });
