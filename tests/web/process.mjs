// What a process takes, read from Linux's /proc (proc(5)): memory, processor,
// the port it listens on.

import { readFileSync, readdirSync, readlinkSync, writeFileSync } from 'node:fs';

/** Clock ticks a second, as proc(5) counts processor time; 100 on every Linux in use. */
const TICKS_PER_S = 100;

/** Memory a process has in hand, in bytes. */
export function residentBytes(pid) {
  const line = /^VmRSS:\s+(\d+) kB/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
  return Number(line[1]) * 1024;
}

/** The most it ever had in hand, or since that was forgotten. */
export function mostResidentBytes(pid) {
  const line = /^VmHWM:\s+(\d+) kB/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
  return Number(line[1]) * 1024;
}

/** Begins anew with the most it had in hand (proc(5), clear_refs). */
export function forgetMost(pid) {
  writeFileSync(`/proc/${pid}/clear_refs`, '5');
}

/** How many sockets it has. */
export function socketsOf(pid) {
  return targets(pid).filter((target) => target.startsWith('socket:')).length;
}

/** Processor time it has used, in seconds. */
export function processorSeconds(pid) {
  const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').replace(/^.*\) /, '').split(' ');
  return (Number(fields[11]) + Number(fields[12])) / TICKS_PER_S;
}

/** Share of one core a process uses over a stretch of time, in per cent. */
export async function processorShare(pid, seconds) {
  const before = processorSeconds(pid);
  await new Promise((resolve) => { setTimeout(resolve, seconds * 1000); });
  return ((processorSeconds(pid) - before) / seconds) * 100;
}

/** How /proc/net/tcp writes that a socket listens. */
const LISTENS = '0A';

/** What its open handles lead to. */
function targets(pid) {
  return readdirSync(`/proc/${pid}/fd`).map((fd) => {
    try {
      return readlinkSync(`/proc/${pid}/fd/${fd}`);
    } catch {
      return ''; // closed meanwhile
    }
  });
}

/** The IPv4 port a process listens on, if it does yet. */
export function listeningPort(pid) {
  const open = targets(pid);
  const sockets = readFileSync(`/proc/${pid}/net/tcp`, 'utf8').split('\n').slice(1)
    .map((line) => line.trim().split(/\s+/));
  const found = sockets.find((part) => part[3] === LISTENS && open.includes(`socket:[${part[9]}]`));
  return found ? parseInt(found[1].split(':')[1], 16) : null;
}
