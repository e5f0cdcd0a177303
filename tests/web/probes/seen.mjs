// What is seen of a class from outside: by the screens of all stations, by who
// asks for what a camera sees now, by who draws a mat. And where the child whose
// family said no may be meanwhile.
//
// Not here: what is promised.

import * as stage from '../stage.mjs';
import { Screen } from './screen.mjs';
import { GROUPS, REFUSED_GROUP, SETTLES_MS, start } from './box.mjs';

export const STATIONS = [1, 2, 3];
/** Pictures that are asked for one by one. */
const ASK_MS = 300;
/** Longer than everybody needs to settle and a late picture to come. */
export const WATCH_MS = SETTLES_MS + 5000;

/** All screens of a box, and whatever else shows a picture, until told to stop. */
export class Watch {
  static async open(box, who = box.teacher) {
    const watch = new Watch();
    Object.assign(watch, { box, who, asked: [], on: true });
    watch.screens = await Promise.all(STATIONS.map((station) => Screen.open(box.screens.get(station), station)));
    watch.asking = watch.ask();
    return watch;
  }

  async ask() {
    const routes = (station) => [`/api/stations/${station}/still`, `/roster/mat/${station}/picture`];
    while (this.on) {
      for (const station of STATIONS) {
        for (const route of routes(station)) {
          const { status, headers } = await this.who.get(route);
          const picture = status === 200 && /^image\//.test(headers['content-type'] || '');
          if (picture) this.asked.push({ station, route, at_ms: Date.now() });
        }
      }
      await stage.sleep(ASK_MS);
    }
  }

  /** Pictures by station: on the socket, and asked for. */
  async stop() {
    this.on = false;
    await this.asking;
    this.screens.forEach((screen) => screen.close());
    return Object.fromEntries(this.screens.map((screen) => [screen.station, {
      sent: screen.pictures,
      asked: this.asked.filter((one) => one.station === screen.station).length,
    }]));
  }
}

const standOf = (running, number) => running.groups.find((group) => group.group === number)?.station ?? null;

/**
 * At which stations nothing may be seen: that of the refused child's group, where
 * the class is in the groups of the list; everywhere, where nobody can tell. A
 * group without children by the head count goes where it went in `before`, a class
 * at the same step that all came to.
 */
export function hiddenAt(running, { known, refused = [REFUSED_GROUP], before = null }) {
  if (!known || running.groups.length !== GROUPS) return STATIONS;
  const at = refused.map((number) => standOf(running, number) ?? (before && standOf(before, number)));
  return at.includes(null) ? STATIONS : at;
}

/** What of it had to be hidden: pictures, in words; empty where there was none. */
export function wrongly(seen, hidden, settled_us) {
  const wrong = [];
  for (const [station, { sent, asked }] of Object.entries(seen)) {
    const here = hidden.includes(Number(station));
    const bad = here ? sent.length : sent.filter((picture) => picture.capture_us < settled_us).length;
    if (bad > 0) wrong.push(`${bad} pictures on the TV of station ${station}${here ? '' : ' while groups walked'}`);
    if (here && asked > 0) wrong.push(`${asked} pictures of station ${station} given to who asked`);
  }
  return wrong;
}

/** What is seen of a class that does not start. */
const NOTHING = { held: true, pictures: 0, runs: false, running: null, shown: [] };

export const inAll = (seen) => Object.values(seen).reduce((sum, { sent }) => sum + sent.length, 0);

/**
 * Starts a class and watches it: what was seen in words, whether what may not be
 * seen was not, and how many pictures there were. `then` is done once it runs.
 */
export async function classSeen(box, {
  by = box.teacher, ask = {}, known = true, refused, before, then = async () => {},
} = {}) {
  const reply = await by.json('/api/class/start', start(ask));
  if (reply.status !== 200) return { ...NOTHING, words: `refused, ${reply.status}` };
  const answer = JSON.parse(reply.text);
  if (answer.asks.length > 0) return { ...NOTHING, words: `it asks: ${answer.asks.join(', ')}` };
  const settled_us = answer.now.now_us + (SETTLES_MS - 500) * 1000;
  const watch = await Watch.open(box);
  await then();
  await stage.sleep(WATCH_MS);
  const { class: running } = await box.class();
  const seen = await watch.stop();
  await box.endClass();
  const hidden = hiddenAt(running, { known, refused, before });
  const wrong = wrongly(seen, hidden, settled_us);
  const shown = STATIONS.filter((station) => seen[station].sent.length > 0);
  const words = wrong.length ? wrong.join('; ') : `nothing at ${places(hidden)}; pictures at ${places(shown)}`;
  return { held: wrong.length === 0, words, pictures: inAll(seen), runs: true, running, shown };
}

const places = (stations) => (stations.length ? `station ${stations.join(', ')}` : 'none');
