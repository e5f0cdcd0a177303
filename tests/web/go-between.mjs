// A line between a browser and the server that can stall as a network does:
// nothing gets through, nobody is told. Not here: when, and what must follow.

import { once } from 'node:events';
import net from 'node:net';

/**
 * Listens on the same port at another of this machine's addresses, since the
 * server wants to be asked for by its own port, and passes on. What was on its
 * way when the line stalls is kept and comes when it runs again, as in a network
 * whose queues are full.
 */
export async function startGoBetween(port) {
  const pairs = new Set();
  let stalled = false;
  const server = net.createServer((near) => {
    const far = net.connect(port, '127.0.0.1');
    const pair = { near, far };
    pairs.add(pair);
    const end = () => {
      near.destroy();
      far.destroy();
      pairs.delete(pair);
    };
    for (const [from, to] of [[near, far], [far, near]]) {
      from.on('data', (bytes) => {
        if (!to.write(bytes)) from.pause();
      });
      to.on('drain', () => { if (!stalled) from.resume(); });
      from.on('error', end);
      from.on('close', end);
    }
    if (stalled) hold(pair);
  });
  const hold = (pair) => { pair.near.pause(); pair.far.pause(); };
  server.listen(port, '127.0.0.2');
  await once(server, 'listening');
  return {
    base: `http://127.0.0.2:${port}`,
    stall() {
      stalled = true;
      pairs.forEach(hold);
    },
    run() {
      stalled = false;
      pairs.forEach((pair) => { pair.near.resume(); pair.far.resume(); });
    },
    end() {
      pairs.forEach((pair) => { pair.near.destroy(); pair.far.destroy(); });
      server.close();
    },
  };
}
