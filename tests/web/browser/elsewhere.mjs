// A page of another site, open in the browser of somebody who is signed in: what
// it makes that browser ask the box for is refused, it reads none of it, and the
// box says so and goes on.

import assert from 'node:assert/strict';
import { createServer } from 'node:http';
import { once } from 'node:events';
import * as stage from '../stage.mjs';

/** A name that is another site to a browser, and this machine all the same. */
const SITE = 'gym.example';

/** A web server of somebody else's; what it was asked for, query and all. */
async function otherSite() {
  const asked = [];
  const server = createServer((request, response) => {
    asked.push(request.url);
    response.setHeader('content-type', 'text/html');
    response.end('<!DOCTYPE html><title>Elsewhere</title><p>A page of somebody else');
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  return { server, asked, port: server.address().port };
}

/** Tries everything a page can. Runs inside the page; tells what it could read or see. */
async function tryAll(box) {
  const got = [];
  const read = async (what, work) => {
    try {
      const value = await work();
      if (value) got.push(`${what}: ${value}`);
    } catch (refused) {
      // As it should be.
    }
  };
  const loads = (tag, attribute, url, event = 'onload') => new Promise((resolve) => {
    const element = document.createElement(tag);
    element[event] = () => resolve(`it loaded ${url}`);
    element.onerror = () => resolve('');
    element[attribute] = url;
    document.body.append(element);
    setTimeout(() => resolve(''), 3000);
  });
  const order = JSON.stringify({ order: 'wipe' });
  const own = { credentials: 'include' };
  await read('fetch', async () => (await fetch(`${box}/api/stations`, own)).text());
  await read('fetch, blindly', async () => (await fetch(`${box}/api/stations`, { ...own, mode: 'no-cors' })).text());
  await read('an order', async () => (await fetch(`${box}/api/stations/1/orders`, { ...own, method: 'POST', body: order })).text());
  await read('an order, blindly', async () => (await fetch(`${box}/api/stations/1/orders`, { ...own, method: 'POST', mode: 'no-cors', body: order })).text());
  await read('a delay', async () => (await fetch(`${box}/api/stations/1`, { ...own, method: 'PATCH', body: '{"delay_ms":9000}' })).text());
  await read('a beacon', async () => { navigator.sendBeacon(`${box}/api/stations/1/orders`, order); });
  await read('an image', () => loads('img', 'src', `${box}/api/pairing/qr`));
  await read('a script', () => loads('script', 'src', `${box}/assets/page/tv.js`));
  await read('a style', () => new Promise((resolve) => {
    const link = document.createElement('link');
    link.rel = 'stylesheet';
    link.href = `${box}/assets/style/base.css`;
    link.onload = () => resolve('it loaded');
    link.onerror = () => resolve('');
    document.head.append(link);
  }));
  await read('a frame', async () => {
    await loads('iframe', 'src', `${box}/remote`);
    const frame = document.querySelector('iframe');
    return frame.contentDocument && frame.contentDocument.querySelector('#remote') ? 'its page' : '';
  });
  await read('a socket', () => new Promise((resolve) => {
    const socket = new WebSocket(`${box.replace('http', 'ws')}/api/stations/1/view`);
    socket.onopen = () => resolve('it opened');
    socket.onmessage = (event) => resolve(String(event.data));
    socket.onerror = () => resolve('');
  }));
  return got;
}

/** Sends a form as such a page would; where the browser ends up is the answer. */
async function sendForm(page, box, action, fields) {
  const [reply] = await Promise.all([
    page.waitForNavigation(),
    page.evaluate(([url, values]) => {
      const form = document.createElement('form');
      form.method = 'post';
      form.action = url;
      for (const [name, value] of Object.entries(values)) {
        const input = document.createElement('input');
        input.name = name;
        input.value = value;
        form.append(input);
      }
      document.body.append(form);
      form.submit();
    }, [box + action, fields]),
  ]);
  return reply.status();
}

async function nothingFromElsewhere(stranger) {
  const { server: site, asked, port } = await otherSite();
  const browser = await stage.openBrowser({ args: [`--host-resolver-rules=MAP ${SITE} 127.0.0.1`] });
  try {
    const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
    // The browser that every test is given may ask nobody but the box.
    await stage.openPage(stranger, `${server.base}/`);
    const remote = await stage.openPage(browser, `${server.base}/remote`);
    const own = await remote.context().cookies();
    const secrets = [own.find((cookie) => cookie.name === 'afterturn').value, 'low beam, wide mat'];
    // Another site, and another port of this machine: the same site to a browser,
    // which sends its cookies along even if they are strict.
    for (const elsewhere of [`http://${SITE}:${port}/`, `http://127.0.0.1:${port}/`]) {
      const page = await remote.context().newPage();
      await page.goto(elsewhere);
      assert.deepEqual(await page.evaluate(tryAll, server.base), [], elsewhere);
      for (const [action, fields] of [
        ['/screens', { do: 'set-pin', pin: '493817' }],
        ['/sign-out', {}],
        ['/sign-in', { passphrase: 'low beam, wide mat' }],
      ]) {
        await page.goto(elsewhere);
        assert.equal(await sendForm(page, server.base, action, fields), 403, `${action} from ${elsewhere}`);
      }
      await page.close();
    }
    // A name of theirs that leads to the box is no name of the box.
    const rebound = await remote.context().newPage();
    const reply = await rebound.goto(`http://${SITE}:${server.port}/remote`);
    assert.equal(reply.status(), 403);
    await rebound.close();

    // Nothing was done, and nobody was signed out.
    const { body } = await stage.api(server.base, '/api/stations');
    assert.equal(body.stations[0].delay_ms, 2000);
    assert.equal((await remote.goto(`${server.base}/screens`)).status(), 200);
    assert.match(await remote.innerText('main'), /No PIN is set/);
    assert.equal((await fetch(`${server.base}/health`)).status, 200);
    // The log says that it happened and repeats nothing.
    assert.match(server.child.said, /turned away: .*another site/);
    for (const secret of [...secrets, SITE]) assert.ok(!server.child.said.includes(secret), `${secret} is in the log`);
    assert.deepEqual(asked.filter((url) => url !== '/' && url !== '/favicon.ico'), []);
  } finally {
    await browser.close();
    site.close();
  }
}

export const tests = [
  ['a page of another site gets nothing from the box and nothing done', nothingFromElsewhere],
];
