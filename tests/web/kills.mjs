// Pulls the plug: the server is killed at random moments while it keeps
// something, and started again. What was kept before is there, or what was kept
// after; never half of either.
//
//   node tests/web/kills.mjs [--kills 20] [--seed N]

import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { randomFrom } from './figures.mjs';

const { values: options } = parseArgs({
  options: {
    kills: { type: 'string', default: '20' },
    seed: { type: 'string', default: String(Date.now() % 100000) },
  },
});
const random = randomFrom(Number(options.seed));
const stations = [{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }];
/** A screen that asks to be let in is not kept; one that is let in is. */
const WRITES = 6;

async function letScreenIn(base) {
  const asked = await fetch(`${base}/api/pairing`, { method: 'POST', headers: { origin: base } });
  const waiting = /afterturn-waiting=\w+/.exec(asked.headers.get('set-cookie'))[0];
  const { code } = await asked.json();
  const form = new URLSearchParams({ do: 'let-in', code, station: '1' });
  await stage.post(base, '/screens', form);
  await fetch(`${base}/api/pairing`, { headers: { cookie: waiting } });
}

console.log(`seed ${options.seed}`);
let server = await stage.startServer(stations);
let kept = 0;
for (let kill = 0; kill < Number(options.kills); kill += 1) {
  const writing = (async () => {
    for (let i = 0; i < WRITES; i += 1) await letScreenIn(server.base);
  })().catch(() => { /* The server is gone: that is what this is about. */ });
  await stage.sleep(random() * 200);
  await stage.end(server.child, 'SIGKILL');
  await writing;
  const door = JSON.parse(readFileSync(path.join(server.folder, 'door.json'), 'utf8'));
  assert.ok(door.sessions.all.length >= kept, 'what was let in before is let in still');
  kept = door.sessions.all.length;
  server = await stage.startServer(stations, { port: server.port, folder: server.folder });
  assert.ok(!/damaged|No passphrase/.test(server.child.said), server.child.said);
  const { status } = await stage.api(server.base, '/api/stations');
  assert.equal(status, 200, 'the teacher is signed in still');
}
assert.deepEqual(readdirSync(server.folder).filter((name) => name.includes('damaged')), []);
await stage.endAll();
console.log(`${options.kills} kills, ${kept} sessions kept, nothing damaged`);
assert.ok(kept > 1, 'something was really being kept');
process.exit(0);
