// Attempts to take the list away without the passphrase, at a device whose teacher
// went for a moment; and what is left on the disk of a vault that was damaged.

import { readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { Box, PASSPHRASE } from './box.mjs';

const VAULT = '/roster/vault';
const TAKEN = {
  backup: (reply) => /attachment/.test(reply.headers['content-disposition'] || ''),
  sheet: (reply) => reply.status === 200 && /<p id="code">/.test(reply.text),
};
const NAMES = { backup: 'a backup', sheet: 'a recovery sheet' };

/** What a form is answered with where the passphrase is typed, and where it is not. */
async function taken(box, tell, what) {
  const ask = (more) => box.teacher.form(VAULT, { do: what, ...more });
  const given = [];
  if (TAKEN[what](await ask({}))) given.push('without it');
  if (TAKEN[what](await ask({ 'passphrase-now': `${PASSPHRASE}s` }))) given.push('for a wrong one');
  const right = await ask({ 'passphrase-now': PASSPHRASE });
  const gets = TAKEN[what](right);
  tell(`${NAMES[what]} is given to who types the passphrase again, and to nobody else`,
    `${given.length ? `given ${given.join(' and ')}` : 'given for no other'}; ${gets ? 'given' : `not given (${right.status})`} for the right one`,
    given.length === 0 && gets);
  return gets ? right.bytes : null;
}

export async function vault(tell) {
  const box = await Box.open();
  await taken(box, tell, 'sheet');
  const backup = await taken(box, tell, 'backup');
  if (backup === null) throw new Error('there is no backup to be brought back');

  const file = path.join(box.folder, 'vault.db');
  // What the vault and everything that is called after it takes.
  const beside = () => readdirSync(box.folder).filter((name) => name.startsWith('vault.db'));
  await box.again('SIGTERM', async () => {
    const bytes = readFileSync(file);
    beside().filter((name) => name !== 'vault.db').forEach((name) => rmSync(path.join(box.folder, name)));
    // Its head is gone, and the names are there still, as after a bad block.
    writeFileSync(file, Buffer.concat([Buffer.alloc(4096), bytes.subarray(4096)]));
  });
  await box.teacher.page('/roster');
  const before = beside();
  const reply = await box.teacher.file(VAULT, { do: 'restore', 'passphrase-now': PASSPHRASE, 'backup-passphrase': '' }, 'a.vault', backup);
  await box.unlock();
  const back = (await box.today()) !== null;
  const left = beside().filter((name) => !/^vault\.db(-wal|-shm)?$/.test(name));
  const old = left.map((name) => `${name} (${statSync(path.join(box.folder, name)).size} bytes)`).join(', ');
  tell('a vault was damaged and a backup brought back: the list is there again, and nothing is left of the damaged one',
    `${before.join(', ')} before; answered ${reply.status}, ${back ? 'the list is there' : 'the list is not there'}; ${old || 'nothing is left'}`,
    back && left.length === 0);
  await box.close();
}
