// A bad network for what a publisher sends: a UDP relay that loses, delays and so
// reorders datagrams, both ways, the same for the same seed. And how a page is
// led over it.
//
// Not here: any expectation.

import dgram from 'node:dgram';
import { randomFrom } from './figures.mjs';

/** Opens it in front of a port of this machine. */
export async function startRelay(to, { seed = 1, loss = 0.05, jitter_ms = 50 } = {}) {
  const random = randomFrom(seed);
  const front = dgram.createSocket('udp4');
  const backs = new Map();
  const passed = { taken: 0, lost: 0 };
  const line = { cut: false };
  let open = true;
  const pass = (send) => {
    passed.taken += 1;
    if (line.cut || random() < loss) passed.lost += 1;
    // What is still under way when it ends gets nowhere.
    else setTimeout(() => open && send(), random() * jitter_ms);
  };
  front.on('message', (bytes, from) => {
    const who = `${from.address}:${from.port}`;
    if (!backs.has(who)) {
      const back = dgram.createSocket('udp4');
      back.on('message', (answer) => pass(() => front.send(answer, from.port, from.address)));
      backs.set(who, back);
    }
    pass(() => backs.get(who).send(bytes, to, '127.0.0.1'));
  });
  await new Promise((done) => { front.bind(0, '127.0.0.1', done); });
  return {
    port: front.address().port,
    passed,
    /** While `cut`, nothing passes at all. */
    line,
    end() {
      open = false;
      front.close();
      backs.forEach((back) => back.close());
    },
  };
}

/**
 * Leads what a page publishes over relays: one is opened for each answer, in
 * front of the port that it names.
 */
export async function leadOverRelay(page, options) {
  const relays = [];
  await page.route('**/whip', async (route) => {
    const answer = await route.fetch();
    let sdp = await answer.text();
    const found = /^a=candidate:\S+ 1 udp \S+ 127\.0\.0\.1 (\d+) /im.exec(sdp);
    if (answer.status() === 201 && found) {
      const relay = await startRelay(Number(found[1]), { ...options, seed: (options.seed || 1) + relays.length });
      relays.push(relay);
      sdp = sdp.replace(found[0], found[0].replace(` ${found[1]} `, ` ${relay.port} `));
    }
    await route.fulfill({ response: answer, body: sdp });
  });
  return relays;
}
