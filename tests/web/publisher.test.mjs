// Publishing, against a box and a browser made up here: what is done when the box
// begins anew, the network goes, another device comes.
import test from 'node:test';
import assert from 'node:assert/strict';
import { Comparison, Publisher, withFirstRate } from '../../web/live/publisher.js';

/** A box that takes publishers, and a browser whose time is moved by hand. */
class World {
  constructor() {
    this.now = 1000;
    this.timers = [];
    this.said = [];
    this.publisher = null; // who the box says publishes
    this.next = 7;
    this.answers = true;
    this.off = false; // there is no class
    this.refuse = null; // a status for offers
    this.offers = 0;
    this.ended = [];
    this.connections = [];
    this.told = [];
    this.kinds = ['video/VP8', 'video/rtx', 'video/H264', 'video/ulpfec'];
    const world = this;
    this.own = new Publisher('1', {
      fetch: (path, options) => world.answer(path, options),
      connection: () => world.connection(),
      codecs: () => world.kinds.map((mimeType) => ({ mimeType, clockRate: 90000 })),
      steadyMs: () => world.now,
      wallMs: () => world.now,
      later: (act, ms) => world.timers.push({ at: world.now + ms, act }),
    }, (word) => world.said.push(word));
  }

  connection() {
    const made = {
      connectionState: 'new',
      offered: [],
      close() { this.connectionState = 'closed'; },
      addTransceiver(track, options) {
        assert.equal(options.direction, 'sendonly');
        return { setCodecPreferences: (codecs) => this.offered.push(...codecs), sender: { getParameters: () => ({}), setParameters: async (wished) => { this.wished = wished; } } };
      },
      getSenders: () => [{ replaceTrack: async (track) => { made.track = track; } }],
      createOffer: async () => ({ sdp: 'an offer' }),
      setLocalDescription: async () => {},
      setRemoteDescription: async () => { made.connectionState = 'connected'; },
    };
    this.connections.push(made);
    return made;
  }

  async answer(path, { method, body }) {
    if (!this.answers) throw new TypeError('no network');
    if (method === 'DELETE') {
      this.ended.push(path);
      return new Response('', { status: 200 });
    }
    if (path.endsWith('/publisher')) {
      this.told.push(JSON.parse(body));
      return Response.json({ now_us: this.now * 1000 + 5000000, publisher: this.publisher, camera: this.off ? 'off' : this.publisher !== null ? 'showing' : 'no_publisher', sight: null });
    }
    assert.equal(body, 'an offer');
    this.offers += 1;
    if (this.refuse !== null) return new Response('', { status: this.refuse });
    this.publisher = this.next;
    this.next += 1;
    return new Response('an answer', { status: 201, headers: { location: `/api/stations/1/whip/${this.publisher}` } });
  }

  /** Lets so much time pass, and everything due happen. */
  async pass(ms) {
    const end = this.now + ms;
    while (this.now < end) {
      this.now += 100;
      for (const due of this.timers.filter((t) => t.at <= this.now)) {
        this.timers.splice(this.timers.indexOf(due), 1);
        due.act();
      }
      await new Promise((done) => { setImmediate(done); });
    }
  }

  word() {
    return this.said[this.said.length - 1];
  }
}

async function publishing() {
  const world = new World();
  world.own.start({ kind: 'video' });
  await world.pass(2500);
  assert.equal(world.word(), 'on');
  assert.equal(world.offers, 1);
  return world;
}

test('it offers H.264 alone, with what sends lost packets again, and keeps its size', async () => {
  const world = await publishing();
  assert.deepEqual(world.connections[0].offered.map((c) => c.mimeType), ['video/rtx', 'video/H264']);
  assert.equal(world.connections[0].wished.degradationPreference, 'maintain-resolution');
  world.own.stop();
  assert.deepEqual(world.ended, ['/api/stations/1/whip/7']);
  const told = world.told.length;
  await world.pass(5000);
  assert.equal(world.told.length, told, 'and asks no more');
});

test('a browser without H.264 is told so and offers nothing', async () => {
  const world = new World();
  world.kinds = ['video/VP8', 'video/rtx'];
  world.own.start({ kind: 'video' });
  await world.pass(2000);
  assert.equal(world.word(), 'no-h264');
  assert.equal(world.offers, 0);
});

test('a box that began anew gets a new offer within two seconds', async () => {
  const world = await publishing();
  world.answers = false;
  await world.pass(4000);
  assert.equal(world.word(), 'away');
  world.publisher = null;
  world.answers = true;
  await world.pass(2000);
  assert.equal(world.word(), 'on');
  assert.equal(world.offers, 2);
});

test('a connection that does not come back is made anew, one that blinks is not', async () => {
  const world = await publishing();
  world.connections[0].connectionState = 'disconnected';
  await world.pass(1500);
  world.connections[0].connectionState = 'connected';
  await world.pass(3000);
  assert.equal(world.offers, 1);
  world.connections[0].connectionState = 'disconnected';
  await world.pass(5000);
  assert.equal(world.offers, 2);
  assert.equal(world.word(), 'on');
});

test('whoever came after is not pushed out, and followed when gone', async () => {
  const world = await publishing();
  world.publisher = 99;
  await world.pass(10000);
  assert.equal(world.word(), 'taken');
  assert.equal(world.offers, 1);
  world.publisher = null;
  await world.pass(2000);
  assert.equal(world.word(), 'on');
  assert.equal(world.offers, 2);
});

test('refusals are told in their own words, and it goes on asking', async () => {
  for (const [status, word] of [[409, 'taken'], [503, 'off'], [401, 'out'], [403, 'out'], [500, 'away']]) {
    const world = new World();
    world.refuse = status;
    world.own.start({ kind: 'video' });
    await world.pass(2500);
    assert.equal(world.word(), word, String(status));
    world.refuse = null;
    await world.pass(2500);
    assert.equal(world.word(), 'on');
  }
});

test('without a class nothing is sent, and with one it begins by itself', async () => {
  const world = new World();
  world.off = true;
  world.own.start({ kind: 'video' });
  await world.pass(3000);
  assert.equal(world.word(), 'off');
  assert.equal(world.connections.length, 0);
  world.off = false;
  await world.pass(2500);
  assert.equal(world.word(), 'on');
  world.off = true;
  await world.pass(2500);
  assert.equal(world.connections[0].connectionState, 'closed');
});

test('clocks are compared with each answer, and the quickest is believed', async () => {
  const world = await publishing();
  assert.deepEqual(world.told[world.told.length - 1], { publisher: 7, ahead_us: 5000000 });
  const clock = new Comparison();
  assert.equal(clock.aheadUs(), null);
  clock.add(0, 100, 1050000);
  assert.equal(clock.aheadUs(), 1000000);
  // A slow answer may be lopsided.
  clock.add(1000, 1400, 2300000);
  assert.equal(clock.aheadUs(), 1000000);
  clock.add(2000, 2010, 3006000);
  assert.equal(clock.aheadUs(), 1001000);
  // Our own clock was set back an hour.
  clock.add(-3600000, -3599990, 4005000);
  assert.equal(clock.aheadUs(), 3604000000);
});

test('the answer asks for a good first picture of the format with fragmentation alone', () => {
  const sdp = 'a=fmtp:96 packetization-mode=1;profile-level-id=42e01f\r\na=fmtp:97 apt=96\r\n';
  assert.equal(withFirstRate(sdp), 'a=fmtp:96 packetization-mode=1;profile-level-id=42e01f;x-google-start-bitrate=2500\r\na=fmtp:97 apt=96\r\n');
});
