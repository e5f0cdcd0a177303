// Asks the network for a name by multicast DNS (RFC 6762), as a tablet does,
// and prints the addresses that answer. Written from the RFC and with nothing
// of ours in it, so that the box is not tested with what it answers with.
//
//   node ask-name.mjs NAME OWN-ADDRESS             the addresses, or fails
//   node ask-name.mjs NAME OWN-ADDRESS --farewell  waits for the name to be taken back

import dgram from 'node:dgram';

const [name, own, farewell] = process.argv.slice(2);
const GROUP = '224.0.0.251';
const PORT = 5353;
const WITHIN_MS = farewell ? 20000 : 4000;
const A = 1;

/** A question for the address of a name: header, labels, type, class IN. */
function question() {
  const labels = name.split('.').map((label) => Buffer.concat([Buffer.from([label.length]), Buffer.from(label)]));
  const header = Buffer.from([0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0]);
  return Buffer.concat([header, ...labels, Buffer.from([0, 0, A, 0, 1])]);
}

/** The name at a place of a message, and where it ends (RFC 1035 §4.1.4). */
function nameAt(message, at) {
  const labels = [];
  let end = 0;
  for (let jumps = 0; jumps < 20;) {
    const length = message[at];
    if (length === 0) return { text: labels.join('.'), end: end || at + 1 };
    if (length >= 0xc0) {
      end = end || at + 2;
      at = ((length & 0x3f) << 8) | message[at + 1];
      jumps += 1;
    } else {
      labels.push(message.toString('utf8', at + 1, at + 1 + length));
      at += 1 + length;
    }
  }
  throw new Error('a name that points to itself');
}

/** Every address record of a message, whichever section it stands in. */
function addresses(message) {
  const found = [];
  const count = (at) => message.readUInt16BE(at);
  let at = 12;
  for (let i = 0; i < count(4); i += 1) at = nameAt(message, at).end + 4;
  for (let i = 0; i < count(6) + count(8) + count(10); i += 1) {
    const { text, end } = nameAt(message, at);
    const length = message.readUInt16BE(end + 8);
    if (message.readUInt16BE(end) === A) {
      found.push({ name: text, ttl: message.readUInt32BE(end + 4), address: [...message.subarray(end + 10, end + 14)].join('.') });
    }
    at = end + 10 + length;
  }
  return found;
}

const socket = dgram.createSocket({ type: 'udp4', reuseAddr: true });
setTimeout(() => {
  console.log('no answer');
  process.exit(1);
}, WITHIN_MS);
socket.on('message', (message) => {
  if (!(message[2] & 0x80)) return;
  const ours = addresses(message).filter((record) => record.name.toLowerCase() === name);
  const wanted = ours.filter((record) => (farewell ? record.ttl === 0 : record.ttl > 0));
  if (!wanted.length) return;
  console.log([...new Set(wanted.map((record) => record.address))].join(' '));
  process.exit(0);
});
socket.bind(PORT, () => {
  socket.addMembership(GROUP, own);
  socket.setMulticastInterface(own);
  socket.setMulticastTTL(255);
  if (farewell) return;
  const ask = () => socket.send(question(), PORT, GROUP, () => {});
  ask();
  setInterval(ask, 700);
});
