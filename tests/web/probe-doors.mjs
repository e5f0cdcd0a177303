// Tries the built program from outside, over HTTPS, as an attacker would and as a
// school would that is out of luck: says of each attempt what was promised, what
// was seen, and whether it held.
//
//   scripts/probe-doors [--only lock-out,clock] [--seed N] [--no-judge]
//
// Not here: the attempts themselves (`probes/`).

import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { randomFrom } from './figures.mjs';
import * as consent from './probes/consent.mjs';
import * as doors from './probes/doors.mjs';
import { foreign } from './probes/foreign.mjs';
import { imports } from './probes/imports.mjs';
import { ownNetwork } from './probes/network.mjs';
import { stuck } from './probes/stuck.mjs';
import { vault } from './probes/vault.mjs';

const PROBES = {
  'sign-ins': doors.signIns,
  'lock-out': doors.lockOut,
  bodies: doors.bodies,
  imports,
  stuck,
  foreign,
  vault,
  clock: consent.clock,
  helper: consent.helper,
  broken: consent.broken,
  'mid-class': consent.midClass,
  kill: consent.kill,
};

const { values: options } = parseArgs({
  allowNegative: true,
  options: {
    only: { type: 'string', default: Object.keys(PROBES).join(',') },
    seed: { type: 'string', default: '1' },
    judge: { type: 'boolean', default: true },
  },
});
const wanted = options.only.split(',').map((name) => name.trim());
const unknown = wanted.filter((name) => !(name in PROBES));
if (unknown.length) {
  console.error(`no probe is called ${unknown.join(', ')}; there are ${Object.keys(PROBES).join(', ')}`);
  process.exit(2);
}

let [passed, failed] = [0, 0];
console.log(`seed ${options.seed}; devices ${ownNetwork ? 'have addresses of a network namespace'
  : 'have loopback addresses, to which the box may be milder than to others: run as root for better'}`);
for (const name of wanted) {
  const began_ms = Date.now();
  console.log(`\n== ${name}`);
  const tell = (promised, seen, held) => {
    if (held) passed += 1;
    else failed += 1;
    console.log(`promised: ${promised}\n  seen: ${seen}\n  ${held ? 'held' : 'NOT HELD'}`);
  };
  try {
    await PROBES[name](tell, { random: randomFrom(Number(options.seed)) });
  } catch (error) {
    tell('the probe can be made', String(error.stack || error), false);
  }
  await stage.endAll();
  console.log(`-- ${name}: ${Math.round((Date.now() - began_ms) / 1000)} s`);
}
console.log(`\n${passed} passed, ${failed} failed`);
process.exit(options.judge && failed > 0 ? 1 : 0);
