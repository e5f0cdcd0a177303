// Attempts to have a child shown whose family said no: by the date, by a helper,
// by counting heads, by a vault that cannot be opened, by the time between the
// answer and the cover, by pulling the plug.

import { copyFileSync, existsSync, mkdirSync, readdirSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { Box, GROUPS, REFUSED_GROUP, SETTLES_MS, start } from './box.mjs';
import { done } from './client.mjs';
import { now_ms, Screen } from './screen.mjs';
import { WATCH_MS, Watch, classSeen, hiddenAt, inAll, wrongly } from './seen.mjs';

const COVERED = 'nothing of the refused child\'s group is seen, by any way';
/** A wipe has as long. */
const OFF_WITHIN_MS = 500;
/** What a box may have been running for when it is first asked. */
const STARTS_MS = 1500;
/** Until a box that runs has noticed that a day is over. */
const NOTICES_MS = 75000;

/** A class as any other; what is found out otherwise says nothing where this shows nothing. */
async function usual(box, tell) {
  const { held, words, pictures, running } = await classSeen(box);
  tell(`in the usual case ${COVERED}, and others are shown`, words, held && pictures > 0);
  return running;
}

/** One class after another, as the list is locked and open. */
async function lockedAndOpen(box, tell, when, more = {}) {
  for (const open of [false, true]) {
    await done(open ? box.unlock() : box.lock());
    const { held, words } = await classSeen(box, more);
    tell(`${when}, the list ${open ? 'open' : 'locked'}: ${COVERED}, or the start asks`, words, held);
  }
}

async function believes(box, days) {
  const day = new Date(Date.now() + days * 86400000);
  const near = [-1, 0, 1].map((off) => new Date(day.getTime() + off * 86400000).toISOString().slice(0, 10));
  const today = await box.today();
  if (!near.includes(today)) throw new Error(`the box takes today for ${today}: its date could not be faked`);
}

export async function clock(tell) {
  const box = await Box.open({ pictures: true, dated: true });
  await usual(box, tell);

  const trusted = box.ca;
  const sameAuthority = (when) => {
    const same = box.ca === trusted;
    tell(`${when}: devices trust the box still, for its authority is the same`, same ? 'the same' : 'another', same);
  };
  await box.again('SIGTERM', async () => box.setDate(-365));
  sameAuthority('restarted with a date a year back');
  await done(box.unlock());
  await believes(box, -365);
  await lockedAndOpen(box, tell, 'restarted with a date a year back');
  await done(box.answer(box.of(3)[0], 'no'));
  const both = { refused: [REFUSED_GROUP, 3] };
  const { held, words } = await classSeen(box, both);
  tell('a no written down while the date is a year back counts at once', words, held);

  await box.again('SIGTERM', async () => box.setDate(0));
  sameAuthority('with the true date again');
  await done(box.unlock());
  await believes(box, 0);
  await lockedAndOpen(box, tell, 'with the true date again', both);

  box.setDate(2);
  await stage.sleep(NOTICES_MS);
  await done(box.unlock());
  await believes(box, 2);
  await lockedAndOpen(box, tell, 'with a date two days ahead', both);
  box.setDate(0);
  await stage.sleep(2500);
  await done(box.unlock());
  await believes(box, 0);
  await lockedAndOpen(box, tell, 'after two days ahead, back again', both);
  const helped = await classSeen(box, { ...both, by: await box.signInHelper(), ask: { not_shown: [] } });
  tell(`then a helper starts the class, "not shown: none": ${COVERED}`, helped.words, helped.held);
  await box.again();
  await lockedAndOpen(box, tell, 'and after a restart', both);
  await box.close();
}

/** What shows more than the list can tell is the teacher's alone, in a class that runs. */
async function whoShowsMore(box, by, tell) {
  const says = (who, not_shown) => who.json('/api/class/shown', { not_shown });
  let status = 0;
  const unlisted = { by, ask: { class: 'Guests' }, known: false };
  const first = await classSeen(box, { ...unlisted, then: async () => { ({ status } = await says(by, [])); } });
  tell('in a class the list does not know a helper says "not shown: none": refused, and nothing is shown',
    `answered ${status}; ${first.words}`, status === 403 && first.held);
  const second = await classSeen(box, { ...unlisted, then: async () => { ({ status } = await says(box.teacher, [])); } });
  tell('the teacher says it: taken, and there are pictures', `answered ${status}; pictures at ${second.shown.length} of 3`,
    status === 200 && second.pictures > 0);
  const listed = await classSeen(box, { then: async () => { ({ status } = await says(box.teacher, [])); } });
  tell(`the teacher says it in a class of the list: ${COVERED}`, `answered ${status}; ${listed.words}`, listed.held && listed.runs);
}

export async function helper(tell) {
  const box = await Box.open({ pictures: true });
  const before = await usual(box, tell);
  const by = await box.signInHelper();
  const one = async (promised, ask, more = {}) => {
    const { held, words } = await classSeen(box, { by, ask, ...more });
    tell(promised, words, held);
  };
  await one('a helper starts a class the list does not know, "not shown: none": nothing is shown, or it is refused',
    { class: 'Guests', not_shown: [] }, { known: false });
  await one('the same title said again, without a word of groups', { class: 'Guests', anew: false }, { known: false });
  await whoShowsMore(box, by, tell);
  await one('a helper starts the class in more groups than the list has: nothing is shown, or it is refused',
    { groups: GROUPS + 1, not_shown: [] });
  await one('the circuit which that leaves behind goes on, without a word of how many groups', { anew: false, not_shown: [] });
  // Of two children none is in the third group.
  await done(box.answer(box.of(3)[0], 'no'));
  const both = { refused: [REFUSED_GROUP, 3], before };
  for (const children of [1, 2]) {
    await one(`a helper says that ${children} came: ${COVERED}`, { children, not_shown: [] }, both);
    await one(`the teacher says that ${children} came: ${COVERED}`, { children }, { ...both, by: box.teacher });
  }
  await box.close();
}

/** Whether the list can be read all the same: a child of it, with the right passphrase. */
async function canBeRead(box) {
  const { status } = await box.unlock();
  const readable = status === 303 && (await box.today()) !== null;
  if (readable) await done(box.lock());
  return readable;
}

/** Whether the roster page says that something is wrong with the list, and speaks of no demo. */
async function saysSo(box) {
  const { text } = await box.teacher.page('/roster');
  const words = text.replace(/<[^>]*>/g, ' ').replace(/\s+/g, ' ');
  const says = /cannot be (read|opened)|damaged|covered/i.test(words) && !/\bdemo\b/i.test(words);
  return { says, words: words.trim().slice(0, 160) };
}

async function brokenThenMended(box, tell, what, spoil, mend) {
  await box.again('SIGTERM', spoil);
  const { says, words } = await saysSo(box);
  const known = await canBeRead(box);
  const seen = known ? 'it is read' : says ? 'the page says so' : `the page says: ${words}`;
  tell(`${what}: the list is read all the same, or its page says that it cannot be`, seen, known || says);
  // Who reads it covers its group; otherwise nobody can tell who may be seen.
  const promised = `${what}: ${known ? COVERED : 'everything is covered'}, or the start asks`;
  const broken = await classSeen(box, { known });
  tell(promised, broken.words, broken.held);
  const helped = await classSeen(box, { by: box.helper, ask: { not_shown: [] }, known });
  tell(`${promised}, where a helper says "not shown: none"`, helped.words, helped.held);
  await box.again('SIGTERM', mend);
  const mended = await classSeen(box, { ask: { anew: false } });
  tell('mended, the list locked: the class is known, and its group covered', mended.words, mended.held && mended.runs && mended.pictures > 0);
}

export async function broken(tell) {
  const box = await Box.open({ pictures: true });
  await box.signInHelper();
  await usual(box, tell);
  const stray = path.join(box.folder, 'kept', 'stray');
  await brokenThenMended(box, tell, 'a stray folder among what is kept',
    async () => mkdirSync(stray, { recursive: true }), async () => rmSync(stray, { recursive: true }));
  const vault = path.join(box.folder, 'vault.db');
  const safe = `${vault}.safe`;
  const beside = () => readdirSync(box.folder).filter((name) => /^vault\.db-(wal|shm)$/.test(name));
  await brokenThenMended(box, tell, 'a vault overwritten with "[]"', async () => {
    copyFileSync(vault, safe);
    beside().forEach((name) => rmSync(path.join(box.folder, name)));
    writeFileSync(vault, '[]');
  }, async () => {
    if (existsSync(vault)) rmSync(vault);
    beside().forEach((name) => rmSync(path.join(box.folder, name)));
    renameSync(safe, vault);
    if (statSync(vault).size < 1000) throw new Error('there was no vault');
  });
  await box.close();
}

/** One class in which a family of a group that is shown says no; how long it stayed. */
async function noInClass(box, random) {
  const shown = GROUPS;
  const [child] = box.of(shown);
  await done(box.answer(child, 'yes'));
  await done(box.teacher.json('/api/class/start', start()));
  const { class: running } = await box.class();
  const { station } = running.groups.find((group) => group.group === shown);
  const screen = await Screen.open(box.screens.get(station), station);
  await stage.until('pictures of the group', () => screen.pictures.length > 30, { within_ms: SETTLES_MS + 20000 });
  await stage.sleep(random() * 5000);
  const covers = screen.covers.length;
  const answered = done(box.answer(child, 'no'));
  await answered;
  const answered_ms = now_ms();
  await stage.sleep(6500);
  const cover = screen.covers.slice(covers).find(({ at_ms }) => at_ms >= answered_ms - 5000);
  const after = screen.pictures.filter(({ at_ms }) => at_ms > answered_ms + OFF_WITHIN_MS);
  screen.close();
  await box.endClass();
  return { off_ms: cover ? cover.at_ms - answered_ms : Infinity, after: after.length };
}

export async function midClass(tell, { random }) {
  const box = await Box.open({ pictures: true });
  const off = [];
  let after = 0;
  for (let i = 0; i < 5; i += 1) {
    const one = await noInClass(box, random);
    off.push(one.off_ms);
    after += one.after;
  }
  const list = off.map((ms) => (ms === Infinity ? 'never' : `${ms.toFixed(0)} ms`)).join(', ');
  tell(`a no in mid-class is off the glass within ${OFF_WITHIN_MS} ms of its being written down`,
    `called back after ${list}; ${after} pictures sent later than that`, off.every((ms) => ms <= OFF_WITHIN_MS) && after === 0);
  await box.close();
}

export async function kill(tell, { random }) {
  const box = await Box.open({ pictures: true });
  await usual(box, tell);
  await done(box.teacher.json('/api/class/start', start()));
  await stage.sleep(SETTLES_MS);
  const wrong = [];
  let pictures = 0;
  const KILLS = 5;
  for (let i = 0; i < KILLS; i += 1) {
    await stage.sleep(random() * 2500);
    await box.again('SIGKILL');
    // Nobody knows where children went meanwhile.
    const settled_us = (await box.class()).now_us + (SETTLES_MS - STARTS_MS) * 1000;
    const watch = await Watch.open(box);
    await stage.sleep(WATCH_MS);
    const { class: running, asks } = await box.class();
    const seen = await watch.stop();
    if (running === null) throw new Error(`the class is gone: ${JSON.stringify(asks)}`);
    wrong.push(...wrongly(seen, hiddenAt(running, { known: true }), settled_us));
    pictures += inAll(seen);
  }
  tell(`killed ${KILLS} times in class: covers hold before anything is shown`,
    wrong.length ? wrong.join('; ') : `nothing of the group, ${pictures} pictures of others`, wrong.length === 0 && pictures > 0);
  await box.close();
}
