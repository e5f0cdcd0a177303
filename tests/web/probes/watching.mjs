// A screen that watches aside, so that its notes are right while this program is
// busy with something else: who starts it gets how late its pictures were.

import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import { Screen, now_ms } from './screen.mjs';

/** Watches a station until asked. */
export class Aside {
  static async open(client, station) {
    const { address, port, base, ca } = client.box;
    const aside = new Aside();
    aside.worker = new Worker(new URL(import.meta.url), {
      workerData: { box: { address, port, base, ca }, from: client.from, cookie: client.cookie(), station },
    });
    await aside.next();
    return aside;
  }

  next() {
    return new Promise((resolve, reject) => {
      this.worker.once('message', resolve);
      this.worker.once('error', reject);
    });
  }

  /** What came since the last question, as `Screen.late` says it, and the longest time without any. */
  ask() {
    this.worker.postMessage('late');
    return this.next();
  }

  close() {
    return this.worker.terminate();
  }
}

/** The longest time without a picture. */
function longestGap(pictures, since_ms) {
  const times = [since_ms, ...pictures.filter(({ at_ms }) => at_ms >= since_ms).map(({ at_ms }) => at_ms), now_ms()];
  return Math.max(...times.slice(1).map((at_ms, i) => at_ms - times[i]));
}

if (!isMainThread && parentPort && workerData?.station) {
  const { box, from, cookie, station } = workerData;
  const screen = await Screen.open({ box, from, cookie: () => cookie }, station);
  let since_ms = now_ms();
  parentPort.on('message', () => {
    parentPort.postMessage({ ...screen.late(since_ms), gap_ms: longestGap(screen.pictures, since_ms), over: screen.over });
    since_ms = now_ms();
  });
  parentPort.postMessage('open');
}
