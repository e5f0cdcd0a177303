// The whole way of a child through the vault, in a browser: a list is read, a
// family answers, the letter is printed, a backup is made and restored, the
// child is erased. At the sizes of a laptop and a phone, in both languages,
// every page without violations that axe-core can find, kept as pictures in
// tests/out/. The child's name is nowhere but on the pages: in no address that is
// asked for, no header that comes back, no problem a program is told, no log,
// and no file. A class of the list starts with its groups covered, locked or not.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { out, photograph } from './photograph.mjs';
import { assertNoErrors } from './seen.mjs';

const PASSPHRASE = 'low beam, wide mat';
/** A form that was not taken is answered so. */
const REFUSED = /status of 4(22|04)/;

/**
 * Whatever is asked for or comes back outside a page is without the name, all
 * day long.
 */
function watchAddresses(page, canary) {
  const wrong = [];
  const look = (what, text) => { if (text.includes(canary)) wrong.push(what); };
  page.context().on('request', (request) => look('an address', decodeURIComponent(request.url())));
  page.context().on('response', (response) => {
    look(`a header of ${new URL(response.url()).pathname}`, JSON.stringify(response.headers()));
  });
  return () => assert.deepEqual(wrong, [], 'the name is outside a page');
}

/** What programs are told when something is wrong names nobody. */
async function problems(walk, child, klass) {
  const gone = new URL(child).pathname;
  const asked = [
    [gone, {}],
    [`${gone}/${walk.canary}`, {}],
    [`/api/stations/${walk.canary}`, {}],
    [new URL(klass).pathname, { method: 'POST', body: `do=add-child&given=${walk.canary}&family=${'x'.repeat(20000)}&group=x` }],
    ['/roster/import', { method: 'POST', headers: { 'content-type': 'multipart/form-data; boundary=x' }, body: `--x\r\nname="${walk.canary}"` }],
    ['/api/class/start', { method: 'POST', body: `{"class": "${walk.canary}` }],
    ['/sign-in', { method: 'PUT', body: walk.canary }],
  ];
  let problemsSeen = 0;
  for (const [route, options] of asked) {
    const headers = { 'content-type': 'application/x-www-form-urlencoded', accept: 'application/json', ...options.headers };
    const reply = await stage.ask(walk.server.base, route, { ...options, headers });
    const text = await reply.text();
    if (!/problem\+json/.test(reply.headers.get('content-type') || '')) continue;
    problemsSeen += 1;
    assert.ok(!text.includes(walk.canary), `${route}: ${reply.status} quotes the name`);
  }
  assert.ok(problemsSeen >= 4, `only ${problemsSeen} of them were problems`);
}

/** The class of the list, started by name: who may not be seen is covered. */
async function startTheClass(walk, { locked }) {
  const reply = await stage.api(walk.server.base, '/api/class/start', {
    method: 'POST', headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ id: `vault-${Math.random()}`, class: '2 Blue', children: 3 }),
  });
  assert.equal(reply.status, 200, JSON.stringify(reply.body));
  assert.deepEqual(reply.body.asks, [], `the list knows, ${locked ? 'locked' : 'open'}`);
  const groups = reply.body.now.class.groups.map((group) => group.covered);
  assert.deepEqual(groups, [true, true], 'no family has said yes to being seen');
  const end = { method: 'POST', headers: { 'content-type': 'application/json' } };
  const body = JSON.stringify({ id: `end-${Math.random()}`, press: { press: 'end' } });
  assert.equal((await stage.api(walk.server.base, '/api/class/presses', { ...end, body })).status, 200);
}

/** A name nobody else on this machine can have written. */
const newCanary = () => `Zyx${Math.random().toString(36).slice(2, 10)}wanda`;

class Walk {
  constructor(page, server, canary, called) {
    Object.assign(this, { page, server, canary, called });
  }

  /** Looks at the page it is on. */
  async look(name) {
    const { page } = this;
    assert.ok(!page.url().includes(this.canary), 'no name in an address');
    assert.ok(!(await page.title()).includes(this.canary), 'no name in a title, which a browser keeps');
    await photograph(page, `vault-${name}-${this.called}`);
  }

  go(route) {
    return this.page.goto(this.server.base + route);
  }

  /** Sends a form and waits for what comes. */
  async send(form) {
    await Promise.all([
      this.page.waitForNavigation(),
      this.page.click(`form#${form} button[type=submit]`),
    ]);
  }

  async field(form, name, value) {
    await this.page.fill(`form#${form} [name="${name}"]`, value);
  }
}

/** From the first choice to a child with answers. */
async function setUp(walk) {
  const { page, canary } = walk;
  await walk.go('/roster');
  await walk.look('first');
  await walk.send('choose');
  await page.waitForSelector('form#choose .error');
  await page.check('form#choose input[value="opt-in"]');
  await walk.send('choose');
  await walk.look('empty');

  await walk.go('/roster/import');
  await walk.look('import');
  const table = (last) => `class,grade,first name,last name,group\n2 Blue,2,${canary},Winter,1\n2 Blue,2,Ida,Stone,2\n2 Blue,2,${last},Field,2\n`;
  await walk.field('read', 'list', table(''));
  await walk.send('read');
  assert.match(await page.innerText('.issues'), /4/, 'the line is named');
  assert.ok((await page.inputValue('form#read [name=list]')).includes(canary), 'what was typed is there still');
  assert.ok(!(await page.innerText('.issues')).includes(canary), 'a mistake quotes nothing');
  await walk.look('import-issues');
  await walk.field('read', 'list', table('Bo'));
  await walk.send('read');
  await walk.look('import-preview');
  await walk.send('take');
  await page.waitForSelector('p.done');
  await walk.look('roster');

  await page.click('.list a');
  await page.waitForURL('**/roster/classes/*');
  await walk.look('class');
}

/** A wrong answer form, a right one; locked in the middle. */
async function answerFor(walk) {
  const { page, canary } = walk;
  const [klass] = page.url().split('?');
  await page.click(`.list a:has-text("${canary}")`);
  await page.waitForURL('**/roster/children/*');
  const [child] = page.url().split('?');
  await walk.field('record', 'recorder', 'Ms Hall');
  await walk.field('record', 'until', '2020-01-01');
  await walk.send('record');
  assert.ok(await page.isVisible('form#record .error'), 'it says what is wrong');
  assert.equal(await page.inputValue('form#record [name=recorder]'), 'Ms Hall', 'nothing typed is lost');
  await walk.look('child-wrong');
  await page.check('form#record input[value=yes]');
  await walk.field('record', 'until', '');
  await page.selectOption('form#record [name=kind]', 'stills');

  // Locked meanwhile, as after a quarter of an hour: in another window.
  const other = await page.context().newPage();
  await other.goto(`${walk.server.base}/roster`);
  await other.click('form:has(input[value=lock]) button');
  await other.waitForSelector('form#unlock');
  await other.close();
  await walk.send('record');
  await walk.look('locked');
  await walk.field('unlock', 'passphrase-now', 'not the passphrase');
  await walk.send('unlock');
  assert.ok(await page.isVisible('form#unlock .error'));
  await walk.field('unlock', 'passphrase-now', PASSPHRASE);
  await walk.send('unlock');
  await page.waitForSelector('form#record .done');
  assert.match(await page.innerText('.list'), /Ms Hall/, 'what was typed was recorded');
  await walk.look('child');
  return { klass, child };
}

/** Backup, sheet, restore, the letter. */
async function keepSafe(walk) {
  const { page, canary } = walk;
  await walk.go('/roster/letter');
  assert.equal(await page.locator('article.letter').count(), 2);
  await walk.look('letter');
  await page.emulateMedia({ media: 'print' });
  const printed = await page.pdf({ path: path.join(out, `vault-letter-${walk.called}.pdf`), format: 'Letter' });
  assert.equal(printed.toString('latin1').match(/\/Type\s*\/Page\b/g).length, 2, 'a sheet for each language');
  await page.emulateMedia({ media: 'screen' });
  await walk.go('/roster/vault');
  await walk.look('vault');
  await walk.field('backup', 'passphrase-now', PASSPHRASE);
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.click('form#backup button'),
  ]);
  assert.ok(!download.suggestedFilename().includes(canary), 'no name in a file name');
  const file = path.join(mkdtempSync(path.join(tmpdir(), 'afterturn-')), 'backup.vault');
  await download.saveAs(file);
  await walk.field('sheet', 'passphrase-now', PASSPHRASE);
  await walk.send('sheet');
  assert.match((await page.innerText('#code')).replace(/\s+/g, ''), /^\w{25}$/);
  await walk.look('sheet');
  return file;
}

/** The child is erased, and a backup does not bring it back. */
async function erase(walk, child, backup) {
  const { page, canary } = walk;
  await page.goto(child);
  await walk.send('erase');
  assert.ok(await page.isVisible('form#erase .error'), 'not without a tick');
  await page.check('form#erase input[name=sure]');
  await walk.send('erase');
  assert.ok(!(await page.innerText('main')).includes(canary));
  await page.goto(child);
  assert.ok(!(await page.content()).includes(canary));
  await walk.go('/roster/vault');
  await page.setInputFiles('form#restore [name=file]', backup);
  await walk.field('restore', 'passphrase-now', PASSPHRASE);
  await walk.send('restore');
  await page.waitForSelector('form#restore .done');
  await walk.go('/roster');
  await page.click('.list a');
  await page.waitForURL('**/roster/classes/*');
  const there = await page.innerText('.list');
  assert.ok(there.includes('Ida') && !there.includes(canary), 'erased stays erased');
}

/** Every file that changed anywhere since then, but for the browser's own. */
function changedFilesWith(canary, since) {
  const script = `find / -xdev \\( -path /proc -o -path /sys -o -path '*/playwright*' -o -path '*/.cache/*' \\) -prune \
    -o -type f -newer "$1" -size -64M -print0 2>/dev/null | xargs -0 -r grep -laF -e "$2" 2>/dev/null || true`;
  return execFileSync('bash', ['-c', script, 'bash', since, canary], { encoding: 'utf8', maxBuffer: 1e8 })
    .split('\n').filter(Boolean);
}

function wholeWay(lang, [width, height]) {
  return async (browser) => {
    const canary = newCanary();
    const since = path.join(mkdtempSync(path.join(tmpdir(), 'afterturn-')), 'since');
    writeFileSync(since, '');
    const stations = [{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }];
    const chatty = { lesson: false, args: ['--log', 'trace'] };
    let server = await stage.startServer(stations, chatty);
    const page = await stage.openPage(browser, `${server.base}/remote`, {
      viewport: { width, height }, locale: lang, bypassCSP: true, acceptDownloads: true,
    });
    const walk = new Walk(page, server, canary, `${lang}-${width}`);
    const assertOnPagesAlone = watchAddresses(page, canary);
    await setUp(walk);
    const { child, klass } = await answerFor(walk);
    await startTheClass(walk, { locked: false });
    const backup = await keepSafe(walk);
    let said = server.child.said;
    // As by a power cut, and on again: locked, and what was recorded is there.
    await stage.end(server.child, 'SIGKILL');
    server = await stage.startServer(stations, { ...chatty, port: server.port, folder: server.folder });
    walk.server = server;
    await startTheClass(walk, { locked: true });
    await page.goto(child);
    await walk.field('unlock', 'passphrase-now', PASSPHRASE);
    await walk.send('unlock');
    assert.ok((await page.innerText('h1')).includes(canary));
    await erase(walk, child, backup);
    await problems(walk, child, klass);
    assertOnPagesAlone();
    said += server.child.said;
    assert.ok(!said.includes(canary), 'no name in a log');
    for (const file of readdirSync(server.folder, { recursive: true })) {
      assert.ok(!file.includes(canary));
      const whole = path.join(server.folder, file);
      assert.ok(!statSync(whole).isFile() || !readFileSync(whole).includes(canary), `${file} holds a name`);
    }
    assert.deepEqual(changedFilesWith(canary, since), [], 'no file anywhere holds the name');
    assertNoErrors(page, REFUSED);
  };
}

export const tests = [
  ['the vault, the whole way, on a laptop', wholeWay('en', [1280, 800])],
  ['the vault, the whole way, on a laptop in Spanish', wholeWay('es', [1280, 800]), 'the one in English, and Spanish on a phone'],
  ['the vault, the whole way, on a phone', wholeWay('en', [390, 844]), 'the one in Spanish'],
  ['the vault, the whole way, on a phone in Spanish', wholeWay('es', [390, 844])],
];
