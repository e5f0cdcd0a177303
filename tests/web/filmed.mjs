// A station whose camera films its own TV page: Chromium on a display of its own,
// a camera that films that display, the server between them. Not here: any
// expectation.

import * as stage from './stage.mjs';

const WIDTH = 1280;
const HEIGHT = 720;

/** A display that nobody sees; what it is called. */
export async function startDisplay() {
  const { child, match } = await stage.startFile('Xvfb',
    ['-displayfd', '1', '-screen', '0', `${WIDTH}x${HEIGHT}x24`, '-nolisten', 'tcp'], /^(\d+)\n/);
  return { child, display: `:${match[1]}` };
}

/** The TV page on that display, and a camera that is late by so much. */
export async function startFilmed(display, latency_ms) {
  const camera = await stage.startCamera(0, ['--films-display', display, '--latency-ms', String(latency_ms),
    '--size', `${WIDTH}x${HEIGHT}`]);
  const stations = [{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url, latency_ms: 0 }];
  const server = await stage.startServer(stations);
  const browser = await stage.openBrowser({ display, size: [WIDTH, HEIGHT] });
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { viewport: null });
  await stage.until('the camera shows', async () => (await station(server.base)).camera.state === 'showing');
  // Until the page has settled, and the offset of the camera's stamps with it.
  await stage.sleep(4000);
  const close = async () => {
    await browser.close();
    await stage.end(server.child);
    await stage.end(camera.child);
  };
  return { camera, server, stations, page, close };
}

/** What the server says of the station. */
export const station = async (base) => (await stage.api(base, '/api/stations/1')).body;

/** Asks for something about the camera's latency. */
export const ask = (base, order) => stage.api(base, '/api/stations/1/calibration', {
  method: 'POST',
  headers: { 'content-type': 'application/json' },
  body: JSON.stringify({ order }),
});

/** Waits until a calibration is over; how it went. */
export const outcome = (base) => stage.until('the calibration ends', async () => {
  const { calibration } = await station(base);
  return calibration && calibration.state !== 'running' && calibration;
}, { within_ms: 40000, every_ms: 100 });

/** One calibration from start to end; how it went. */
export async function calibrate(base) {
  const began_ms = Date.now();
  const { body } = await ask(base, 'start');
  if (body.calibration.state !== 'running') return { ...body.calibration, took_ms: 0 };
  return { ...await outcome(base), took_ms: Date.now() - began_ms };
}
