// The addresses that devices have here: of a network of its own where there is one
// (`scripts/probe-doors` makes it), for the box may be milder to its own machine;
// of the loopback network otherwise.
//
// Not here: who has which.

import { networkInterfaces } from 'node:os';

/** What `scripts/probe-doors` gives the namespace: all of 10.81.0.0/16 is its own. */
const OWN = '10.81.0.1';

export const ownNetwork = Object.values(networkInterfaces()).flat().some(({ address }) => address === OWN);

/** An address of 65,534 that are this machine. */
export const at = (third, last) => `${ownNetwork ? '10.81' : '127.81'}.${third}.${last}`;

/** The first third numbers belong to those who ask, the rest to boxes. */
export const BOXES = 128;
