// What a browser trusts, given to it as a technician does. Not here: any browser.

import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

export const folder = () => mkdtempSync(path.join(tmpdir(), 'afterturn-'));

/** A list as Firefox and Chromium keep it: empty, or with one authority. */
export function trustList(place, authority) {
  mkdirSync(place, { recursive: true });
  execFileSync('certutil', ['-N', '-d', `sql:${place}`, '--empty-password']);
  if (authority) execFileSync('certutil', ['-A', '-d', `sql:${place}`, '-t', 'C,,', '-n', 'Afterturn box', '-i', authority]);
}

/** Debian's list for everything that asks the system. */
const SYSTEM = '/etc/ssl/certs/ca-certificates.crt';

/**
 * A command's start in which the system trusts that authority too, and nowhere
 * else: a file over the list, in a mount namespace of its own. As anybody but
 * root it takes a user namespace, which some systems do not give.
 */
export function trustedBySystem(authority) {
  if (!authority) return [];
  const list = path.join(folder(), 'ca-certificates.crt');
  writeFileSync(list, Buffer.concat([readFileSync(SYSTEM), readFileSync(authority)]));
  const own = process.getuid() === 0 ? [] : ['--map-root-user'];
  return ['unshare', ...own, '--mount', 'sh', '-c', `mount --bind ${list} ${SYSTEM} && exec "$@"`, 'sh'];
}
