// Lists that were made to grow, handed in by a teacher who knows nothing of it
// while a class runs.

import zlib from 'node:zlib';
import * as stage from '../stage.mjs';
import { forgetMost, mostResidentBytes, residentBytes } from '../process.mjs';
import { Box, SETTLES_MS, start } from './box.mjs';
import { done } from './client.mjs';
import { Aside } from './watching.mjs';

const MOST_BYTES = 300e6;
/** A box that has as much has broken its promise long since, and the machine may be needed. */
const ENDED_AT_BYTES = 2e9;
const mb = (bytes) => `${(bytes / 1e6).toFixed(0)} MB`;
const ENTRIES = 200;
const ENTRY_BYTES = 32 * 1024 * 1024;
const COMMAS = 33000000;
/** Longer than any list takes to be read; whoever waits has gone by then. */
const READ_WITHIN_MS = 60000;

/** A ZIP file of equal entries (PKWARE APPNOTE 6.3.10 §4.3), each packed small. */
export function zip(names, content) {
  const packed = zlib.deflateRawSync(content, { level: 9 });
  const sum = zlib.crc32(content);
  const shared = (buffer, at) => {
    buffer.writeUInt16LE(20, at);
    buffer.writeUInt16LE(8, at + 4);
    buffer.writeUInt32LE(sum, at + 10);
    buffer.writeUInt32LE(packed.length, at + 14);
    buffer.writeUInt32LE(content.length, at + 18);
  };
  const [parts, directory] = [[], []];
  let offset = 0;
  for (const text of names) {
    const name = Buffer.from(text);
    const local = Buffer.alloc(30);
    local.writeUInt32LE(0x04034b50, 0);
    shared(local, 4);
    local.writeUInt16LE(name.length, 26);
    const central = Buffer.alloc(46);
    central.writeUInt32LE(0x02014b50, 0);
    central.writeUInt16LE(20, 4);
    shared(central, 6);
    central.writeUInt16LE(name.length, 28);
    central.writeUInt32LE(offset, 42);
    directory.push(central, name);
    parts.push(local, name, packed);
    offset += 30 + name.length + packed.length;
  }
  const all = Buffer.concat(directory);
  const end = Buffer.alloc(22);
  end.writeUInt32LE(0x06054b50, 0);
  end.writeUInt16LE(names.length, 8);
  end.writeUInt16LE(names.length, 10);
  end.writeUInt32LE(all.length, 12);
  end.writeUInt32LE(offset, 16);
  return Buffer.concat([...parts, all, end]);
}

/** What an answer says is wrong, in words; nothing where the list is taken. */
function wrong(text) {
  const places = [...text.matchAll(/<p class="error"[^>]*>([^<]*)<|<section class="issues"[\s\S]*?<ul>([\s\S]*?)<\/ul>/g)];
  const words = places.map(([, error, issues]) => (error || issues).replace(/<[^>]*>/g, ' ').replace(/\s+/g, ' ').trim());
  return words.filter(Boolean).join(' · ') || (/"detail":"([^"]*)"/.exec(text) || [])[1] || '';
}

/** A number that is not the place in the list. */
const namesLimit = (words) => /\d/.test(words.replace(/\b(line|column)s? [\d.,]+/gi, ''));

async function handIn(box, name, bytes) {
  const began_ms = Date.now();
  try {
    const reply = await box.teacher.file('/roster/import', { do: 'read', list: '', only: '' }, name, bytes);
    const taken = reply.status < 400;
    return { status: reply.status, taken, words: wrong(reply.text), took_ms: Date.now() - began_ms };
  } catch (error) {
    return { status: 0, taken: false, words: String(error.message), took_ms: Date.now() - began_ms };
  }
}

/** Ends a box that takes what others on this machine need; says whether it had to. */
function guard(box) {
  let ended = false;
  const timer = setInterval(() => {
    if (box.child.exitCode !== null || box.child.signalCode !== null || residentBytes(box.pid) < ENDED_AT_BYTES) return;
    ended = true;
    clearInterval(timer);
    box.child.kill('SIGKILL');
  }, 50);
  return () => {
    clearInterval(timer);
    return ended;
  };
}

/** A box with a class that is watched; each bomb has its own, for memory that was taken once hides the next. */
async function watched(then) {
  const box = await Box.open({ pictures: true });
  await done(box.teacher.json('/api/class/start', start()));
  const { class: running } = await box.class();
  const { station } = running.groups.find((group) => !group.covered);
  await stage.sleep(SETTLES_MS + 1000);
  const aside = await Aside.open(box.screens.get(station), station);
  await stage.sleep(3000);
  await then(box, aside);
  await aside.close();
  await box.close();
}

const bomb = (tell, what, lists) => watched(async (box, aside) => {
  await aside.ask();
  const before = residentBytes(box.pid);
  forgetMost(box.pid);
  const wasEnded = guard(box);
  const answers = await Promise.all(lists.map(([name, bytes]) => handIn(box, name, bytes)));
  const ended = wasEnded();
  const most = ended ? Infinity : mostResidentBytes(box.pid);
  tell(`${what}: memory stays under ${mb(MOST_BYTES)}`,
    `${mb(before)} before, ${ended ? `more than ${mb(ENDED_AT_BYTES)}, and it was ended there` : `${mb(most)} at most`}`, most < MOST_BYTES);
  const said = answers.map(({ status, words, took_ms }) => `${status} after ${(took_ms / 1000).toFixed(1)} s: ${words.slice(0, 200) || 'no word'}`);
  const clear = answers.every(({ status, words, took_ms }) => status >= 400 && status < 500 && namesLimit(words) && took_ms < READ_WITHIN_MS);
  tell(`${what}: refused, with an error that names a limit`, said.join(' | '), clear);
  const seen = await aside.ask();
  tell(`${what}: the class's pictures stay on time`,
    `${seen.pictures} pictures, ${seen.late} late, at worst ${seen.worst_ms.toFixed(0)} ms before they were due; longest gap ${seen.gap_ms.toFixed(0)} ms`,
    seen.pictures > 0 && seen.late === 0 && !seen.over);
  const { status } = ended ? { status: 0 } : await box.teacher.page('/roster');
  tell(`${what}: the teacher is answered afterwards`, status ? String(status) : 'nobody answers', status === 200);
});

async function nothing(tell) {
  const box = await Box.open();
  for (const [what, head] of [['', ''], [' under the names of its columns', 'first,last,class\n']]) {
    const { status, words, taken } = await handIn(box, 'list.csv', Buffer.from(head + ',,,,,\n'.repeat(200)));
    tell(`a list of nothing but commas${what} is refused`, `${status}: ${words || 'taken without a word'}`, !taken && words !== '');
  }
  await box.close();
}

export async function imports(tell) {
  const names = Array.from({ length: ENTRIES }, (_, i) => `${i}/users.csv`);
  const grows = ['list.zip', zip(names, Buffer.alloc(ENTRY_BYTES, 'a'))];
  const commas = ['list.csv', Buffer.alloc(COMMAS, ',')];
  await nothing(tell);
  await bomb(tell, `a ZIP of ${ENTRIES} files of 32 MiB`, [grows]);
  await bomb(tell, `${COMMAS / 1e6} million commas`, [commas]);
  await bomb(tell, 'both at once', [grows, commas]);
}
