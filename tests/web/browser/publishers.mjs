// Publishers that are no browser and none of ours, each with WebRTC of its own,
// over WHIP (RFC 9725): a Python library's (aiortc) and GStreamer's. What they
// send is seen on a TV.
//
// Needs Debian's python3-aiortc, python3-gi, gir1.2-gst-plugins-bad-1.0 and
// gstreamer1.0-nice.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertNoErrors, picture, seenFor } from './seen.mjs';

const PYTHON = process.env.PYTHON || '/usr/bin/python3';
const DELAY_MS = 1000;
/** How long it publishes: until it was seen on a slow machine too. */
const PUBLISHES_S = 15;

/** What lets a program in as the camera of station 1, from the page of screens. */
export async function keyFor(browser, server) {
  const teacher = await stage.openPage(browser, `${server.base}/screens`);
  await teacher.selectOption('#key-station', '1');
  await teacher.click('form:has(#key-station) button');
  const key = await teacher.innerText('#key');
  await teacher.close();
  return key;
}

/** Starts a publisher of `tests/publishers`; its first answer is there. */
export async function begin(name, server, key, seconds, python = PYTHON) {
  const script = path.join(stage.root, `tests/publishers/${name}_publisher.py`);
  const arguments_ = [script, `${server.base}/api/stations/1/whip`, key, String(seconds)];
  const { child } = await stage.startFile(python, arguments_, /published 201/);
  return child;
}

function isSeen(name) {
  return async (browser) => {
    const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, whip: true }]);
    const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
    const child = await begin(name, server, await keyFor(browser, server), PUBLISHES_S);
    await picture(tv);
    const seen = (await seenFor(tv, 3000)).filter((s) => !s.covered);
    assert.ok(seen.length > 30, `${seen.length} pictures in 3 s`);
    await stage.until('it ends as it should', () => /ended 200/.test(child.said), { within_ms: 30000 });
    await stage.until('the station waits for the next', async () => (
      (await stage.api(server.base, '/api/stations/1')).body.camera.state === 'no_publisher'
    ), { within_ms: 5000 });
    assertNoErrors(tv);
  };
}

export const tests = [
  ['another publisher, a Python library, is seen', isSeen('aiortc')],
  ['another publisher, GStreamer, is seen', isSeen('gstreamer')],
];
