// A device and the box's certificate: what Chromium makes of it with and without
// the trust that the box's page leads to, and the late picture by HTTPS.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { watchRequests } from './outside.mjs';
import { photograph } from './photograph.mjs';
import { assertLate, assertNoErrors, picture, seenFor, sentence } from './seen.mjs';
import { probe } from '../probe.mjs';

const NAME = 'afterturn.local';
const WORDS = 'wide mat, low beam';
/** Who is nobody yet meets refusals on the way. */
const REFUSED = /status of 40[134]/;

/**
 * A box with HTTPS at a loopback address of its own, since its port is written
 * in its file: 127.0.0.0/8 is all this machine, and two runs do not meet.
 */
async function box(stations, more = {}) {
  const address = `127.0.0.${2 + (process.pid % 200)}`;
  const server = await stage.startServer(stations, {
    top: `[https]\nlisten = "${address}:8443"\n`, door: 'sign-in', ...more,
  });
  await stage.until('the fingerprint on the console', () => /fingerprint: ([0-9A-F:]{95})/.test(server.child.said));
  const [, fingerprint] = /fingerprint: ([0-9A-F:]{95})/.exec(server.child.said);
  return { ...server, address, fingerprint, secure: `https://${address}:8443`, named: `https://${NAME}:8443` };
}

/** A device with a list of what it trusts, empty at first. */
function device() {
  const home = mkdtempSync(path.join(tmpdir(), 'afterturn-'));
  const list = path.join(home, '.pki/nssdb');
  mkdirSync(list, { recursive: true });
  execFileSync('certutil', ['-N', '-d', `sql:${list}`, '--empty-password']);
  return {
    home,
    /** What the page tells a technician to do, by the tool that does it here. */
    trust(file) {
      execFileSync('certutil', ['-A', '-d', `sql:${list}`, '-t', 'C,,', '-n', 'Afterturn box', '-i', file]);
    },
  };
}

/** That device's browser, for which the box's name leads to the box. */
function browserOf(home, address) {
  return stage.openBrowser({ home, args: [`--host-resolver-rules=MAP ${NAME} ${address}`] });
}

/** Fetches a file as the device does, over a line it does not trust yet. */
async function fetchFrom(server, file, home) {
  const reply = await fetch(`${server.base}/trust/${file}`);
  assert.equal(reply.status, 200);
  const saved = path.join(home, file);
  writeFileSync(saved, Buffer.from(await reply.arrayBuffer()));
  return saved;
}

async function warnsUntilTrusted(stranger) {
  const server = await box([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
  const { home, trust } = device();
  const warned = await (await stranger.newContext()).newPage();
  await assert.rejects(warned.goto(`${server.secure}/trust`), /ERR_CERT_AUTHORITY_INVALID/);

  trust(await fetchFrom(server, 'afterturn.crt', home));
  const browser = await browserOf(home, server.address);
  const nobodyElse = watchRequests(browser, [NAME]);
  try {
    for (const address of [server.secure, server.named]) {
      const page = await stage.openPage(browser, `${address}/trust`);
      assert.equal(await page.evaluate(() => window.isSecureContext), true);
      const shown = (await page.innerText('#fingerprint')).replace(/\s+/g, ':').replace(/:$/, '');
      assert.equal(shown, server.fingerprint, 'page and console show the same');
      assert.equal(await page.getAttribute('a[href="/trust/afterturn.crt"]', 'href'), '/trust/afterturn.crt');
      assertNoErrors(page);
    }
    nobodyElse();
  } finally {
    await browser.close();
  }
}

async function pictureByHttps(stranger) {
  const camera = await stage.startCamera();
  const server = await box([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }]);
  const { home, trust } = device();
  trust(await fetchFrom(server, 'afterturn.pem', home));
  await (await stranger.newContext()).newPage().then((page) => page.goto(`${server.base}/trust`));
  const browser = await browserOf(home, server.address);
  try {
    // A TV shows a code, and what a phone opens the page with: by number, for
    // whoever does not find the name.
    const tv = await stage.openPage(browser, `${server.named}/tv/1`, { init: probe });
    await tv.waitForURL('**/pair');
    const [, first, last] = await stage.until('a code', async () => /^(\w{3}) (\w{3})$/.exec((await tv.innerText('#code')).trim()));
    const opens = await tv.innerText('#opens');
    assert.equal(opens, `${server.secure}/screens`);
    await stage.until('the QR code', () => tv.evaluate(() => document.querySelector('#photograph').naturalWidth > 0));

    // The teacher's phone goes there and has to sign in first.
    const phone = await stage.openPage(browser, `${opens}#${first}${last}`, { viewport: { width: 390, height: 844 } });
    assert.equal(new URL(phone.url()).pathname, '/sign-in');
    await stage.until('the code on the console', () => /type this code: (\w+)/.test(server.child.said));
    await phone.fill('#code', 'AAAAAAAA');
    const set = async () => {
      await phone.fill('#passphrase', WORDS);
      await phone.fill('#again', WORDS);
      await phone.click('button[type=submit]');
    };
    await set();
    assert.equal(await phone.innerText('.notice'), sentence('sign-in-code-wrong'));
    await phone.fill('#code', /type this code: (\w+)/.exec(server.child.said)[1]);
    await set();
    await phone.waitForURL('**/screens');
    const [session] = (await phone.context().cookies()).filter((cookie) => cookie.name === '__Host-afterturn');
    assert.ok(session && session.secure && session.httpOnly, 'the session stays with HTTPS');
    // The code is there, has left the address, and still waits for a press.
    assert.equal(await phone.inputValue('#code'), `${first} ${last}`);
    assert.ok(await phone.isVisible('#photographed'));
    assert.equal(new URL(phone.url()).hash, '');
    assert.match(tv.url(), /pair$/);
    await phone.selectOption('#station', '1');
    await phone.click('form:has(#code) button');
    await tv.waitForURL('**/tv/1');
    // No class, no camera: the teacher starts one, on the phone that is signed in.
    const started = await phone.evaluate(async (body) => {
      const headers = { 'content-type': 'application/json' };
      return (await fetch('/api/class/start', { method: 'POST', headers, body })).status;
    }, stage.classToStart());
    assert.equal(started, 200);
    await picture(tv);
    await stage.sleep(1500);
    assertLate(await seenFor(tv, 1500), 2000);
    assertNoErrors(tv, REFUSED);
    assertNoErrors(phone, REFUSED);
  } finally {
    await browser.close();
  }
  for (const secret of [`${WORDS}`, 'screens#']) assert.ok(!server.child.said.includes(secret), 'nothing of it is in the log');
}


async function looks(browser) {
  const server = await box([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
  for (const lang of ['en', 'es']) {
    for (const [width, height] of [[390, 844], [1024, 768]]) {
      const page = await stage.openPage(browser, `${server.base}/trust?lang=${lang}`, { viewport: { width, height }, bypassCSP: true });
      await photograph(page, `trust-${lang}-${width}`);
      assertNoErrors(page);
      await page.context().close();
    }
  }
}

export const tests = [
  ['a device warns of the box until it trusts it', warnsUntilTrusted],
  ['a photographed code leads a phone to let a TV in, and the late picture by HTTPS', pictureByHttps],
  ['the page that lets a device trust the box', looks],
];
