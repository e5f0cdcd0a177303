// Starts the real parts of a test (an RTSP camera, the server, a browser) and
// reads what they say. Not here: any expectation.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, writeFileSync, existsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

export const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '../..');
const profile = process.env.AFTERTURN_PROFILE || 'debug';
const running = new Set();

function program(name) {
  const file = path.join(root, 'target', profile, name);
  if (!existsSync(file)) throw new Error(`${file} is missing: run cargo build --workspace first`);
  return file;
}

/**
 * A bound in milliseconds: the one that is promised where the machine does nothing
 * else (AFTERTURN_PROFILE=release AFTERTURN_JUDGE=1), a sane one otherwise. Pages
 * drawn in software on two cores that somebody else uses too are no gym.
 */
export const bound = (promised_ms, sane_ms) => (process.env.AFTERTURN_JUDGE === '1' ? promised_ms : sane_ms);

/** Starts one of our programs and waits until a line of its output matches. */
function start(name, args, pattern) {
  return startFile(program(name), args, pattern);
}

/** The same for any program. */
export async function startFile(file, args, pattern, env = {}) {
  const child = spawn(file, args, {
    stdio: ['ignore', 'pipe', 'pipe'],
    env: { ...process.env, ...env },
  });
  running.add(child);
  child.said = '';
  child.once('exit', () => running.delete(child));
  const match = await new Promise((resolve, reject) => {
    const hear = (bytes) => {
      child.said += bytes;
      const found = pattern.exec(child.said);
      if (found) resolve(found);
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.once('error', reject);
    child.once('exit', (code) => reject(new Error(`${path.basename(file)} ended with ${code}:\n${child.said}`)));
  });
  return { child, match };
}

/** Ends a program; `SIGKILL` for a crash. */
export async function end(child, signal = 'SIGTERM') {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, 'exit');
  child.kill(signal);
  await gone;
}

/** A network camera that plays the scene; `port` 0 takes any free one. */
export async function startCamera(port = 0, args = []) {
  const { child, match } = await start(
    'rtsp-camera',
    ['--port', String(port), ...args],
    /listening (rtsp:\/\/127\.0\.0\.1:(\d+)\S*)/,
  );
  return { child, url: match[1], port: Number(match[2]) };
}

/** The teacher's cookie for the server at a port. */
const keys = new Map();
const PASSPHRASE = 'low beam, wide mat';

/** Sets the first passphrase with the code on the server's console, as the teacher does. */
async function firstRun(child, base) {
  const [, code] = await until('the code on the console', () => /type this code: (\w+)/.exec(child.said));
  const reply = await fetch(`${base}/sign-in`, {
    method: 'POST',
    redirect: 'manual',
    headers: { origin: base },
    body: new URLSearchParams({ code, passphrase: PASSPHRASE, again: PASSPHRASE }),
  });
  const cookie = /(?:^|[\s,])afterturn=(\w+)/.exec(reply.headers.get('set-cookie') || '');
  if (!cookie) throw new Error(`the passphrase was not taken: ${reply.status}`);
  return cookie[1];
}

/** A class that stays in its warm-up: cameras are on, nothing changes. */
const LONG = { warm_up_s: 10800, briefing_s: 0, work_s: 240, last_turn_s: 20, gather_s: 10, walk_s: 20, closing_s: 0 };

export function postJson(base, route, body) {
  return api(base, route, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
}

/** What starts a class. */
export function classToStart(change = {}) {
  return JSON.stringify({ id: `start-${Math.random()}`, class: '3B', children: 12, not_shown: [], times: LONG, ...change });
}

/** Starts one: without it no camera is on. */
export async function startClass(base, change = {}) {
  const { status, body } = await postJson(base, '/api/class/start', JSON.parse(classToStart(change)));
  if (status !== 200 || body.asks.length) throw new Error(`the class does not start: ${JSON.stringify(body)}`);
  return body;
}

/** A press of the remote's. */
export function press(base, what, id = `press-${Math.random()}`) {
  return postJson(base, '/api/class/presses', { id, press: what });
}

/**
 * The server over the given stations; returns its address. Browsers on this
 * machine may watch, and the tests are signed in as the teacher; with `door`
 * 'sign-in' neither is so. A class runs, unless told otherwise; one that ran
 * before a restart goes on.
 */
export async function startServer(stations, {
  port = 0, top = '', door = 'watch', lesson = true, args = [], folder = mkdtempSync(path.join(tmpdir(), 'afterturn-')),
} = {}) {
  const config = path.join(folder, 'afterturn.toml');
  const tables = stations.map((station) => [
    '[[station]]',
    `number = ${station.number}`,
    `title = "${station.title}"`,
    `delay_ms = ${station.delay_ms}`,
    `window_ms = ${station.window_ms || 30000}`,
    ...(station.attempt_s ? [`attempt_s = ${station.attempt_s}`] : []),
    '[station.camera]',
    ...(station.whip ? ['kind = "whip"', `latency_ms = ${station.latency_ms || 0}`] : station.file ? ['kind = "file"', `path = "${station.file}"`] : station.url
      ? ['kind = "network"', `url = "${station.url}"`, `latency_ms = ${station.latency_ms || 0}`]
      : ['kind = "demo"', `seed = ${station.seed || 1}`]),
    ...(station.user ? [`user = "${station.user}"`, `password = "${station.password}"`] : []),
    ...(station.screen ? ['[station.screen]', station.screen] : []),
  ].join('\n'));
  const own = ['listen = "127.0.0.1:8460"', `state_dir = "${folder}"`, `this_machine = "${door}"`, 'whip_port = 0', top];
  const firstTime = !existsSync(path.join(folder, 'door.json'));
  writeFileSync(config, [...own, ...tables].join('\n') + '\n');
  const { child, match } = await start('afterturn', ['serve', '--config', config, '--port', String(port), ...args],
    /serving at (http:\/\/127\.0\.0\.1:(\d+))\//);
  if (door === 'watch' && firstTime) keys.set(match[2], await firstRun(child, match[1]));
  const server = { child, base: match[1], port: Number(match[2]), folder };
  if (lesson && keys.has(match[2]) && firstTime) await startClass(server.base);
  return server;
}

/**
 * Waits until it is known how long a camera's way takes at the least. Opening a
 * page takes the machine's whole attention: learnt meanwhile, it would be too
 * long, and then right again only by and by.
 */
export const learned = (base, number = 1) => until('the camera\'s way is learnt', async () => {
  const { body } = await api(base, `/api/stations/${number}`);
  return body.newest_us - body.oldest_us > 1000000;
}, { within_ms: 20000, every_ms: 100 });

/** The demo; returns its address. */
export async function startDemo(args = []) {
  const { child, match } = await start('afterturn', ['demo', '--port', '0', ...args],
    /serving at (http:\/\/127\.0\.0\.1:(\d+))\//);
  return { child, base: match[1] };
}

/** The server with made-up cameras plugged in, which see this picture. */
export async function startTable(picture) {
  const { child, match } = await start('table', ['--picture', picture], /serving at (http:\/\/127\.0\.0\.1:(\d+))\//);
  return { child, base: match[1] };
}

/**
 * Debian's Chromium, as a TV would run it, without its calls to the outside. It
 * has no window, unless a display is named, which it then fills. `home` is where
 * it looks for what its user trusts.
 */
export function openBrowser({ home = process.env.HOME, args = [], display = '', size = [1280, 720] } = {}) {
  const window = display
    ? ['--kiosk', '--window-position=0,0', `--window-size=${size[0]},${size[1]}`]
    : ['--headless=new'];
  return chromium.launch({
    executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
    headless: !display,
    env: { ...process.env, HOME: home, ...(display ? { DISPLAY: display } : {}) },
    args: [
      ...args,
      ...window, '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
      '--disable-background-networking', '--disable-component-update', '--disable-sync',
    ],
  });
}

/**
 * Puts every page of a browser to sleep, as a device does that is shut and put
 * into a bag: its processes get no time at all. (The browser's own "frozen" has
 * no effect without a window.) Returns what wakes them.
 */
export async function sleepPages(browser) {
  const session = await browser.newBrowserCDPSession();
  const { processInfo } = await session.send('SystemInfo.getProcessInfo');
  const pages = processInfo.filter((info) => info.type === 'renderer').map((info) => info.id);
  if (!pages.length) throw new Error('the browser names no process of a page');
  pages.forEach((pid) => process.kill(pid, 'SIGSTOP'));
  return () => pages.forEach((pid) => process.kill(pid, 'SIGCONT'));
}

/** A page that fails the test on any script error. */
export async function openPage(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 720 }, ...options });
  const { port, origin } = new URL(url);
  if (keys.has(port)) {
    await context.addCookies([{ name: 'afterturn', value: keys.get(port), url: origin, httpOnly: true, sameSite: 'Strict' }]);
  }
  const page = await context.newPage();
  page.errors = [];
  page.on('pageerror', (error) => page.errors.push(String(error)));
  page.on('console', (message) => {
    if (message.type() === 'error') page.errors.push(message.text());
  });
  if (options.init) await page.addInitScript(options.init);
  await page.goto(url);
  return page;
}

export async function api(base, route, options = {}) {
  const key = keys.get(new URL(base).port);
  const own = { origin: base, ...(key ? { cookie: `afterturn=${key}` } : {}) };
  const reply = await fetch(base + route, { ...options, headers: { ...own, ...options.headers } });
  return { status: reply.status, type: reply.headers.get('content-type'), body: await reply.json() };
}

/** Asks for anything as the teacher. */
export function ask(base, route, options = {}) {
  const key = keys.get(new URL(base).port);
  const own = { origin: base, cookie: `afterturn=${key}` };
  return fetch(base + route, { redirect: 'manual', ...options, headers: { ...own, ...options.headers } });
}

/** Sends one of our pages' forms as the teacher. */
export function post(base, route, form) {
  const key = keys.get(new URL(base).port);
  return fetch(base + route, {
    method: 'POST', redirect: 'manual', body: form, headers: { origin: base, cookie: `afterturn=${key}` },
  });
}

export function setDelay(base, number, delay_ms) {
  return api(base, `/api/stations/${number}`, {
    method: 'PATCH',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ delay_ms }),
  });
}

export const sleep = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });

/** Waits until a condition holds, and says what did not if it never does. */
export async function until(what, condition, { within_ms = 15000, every_ms = 50 } = {}) {
  const end = Date.now() + within_ms;
  for (;;) {
    const value = await condition();
    if (value) return value;
    if (Date.now() > end) throw new Error(`not within ${within_ms} ms: ${what}`);
    await sleep(every_ms);
  }
}

/** Stops whatever a failed test left running. */
export async function endAll() {
  await Promise.all([...running].map((child) => end(child, 'SIGKILL')));
}
