// What a process takes, read from Linux's /proc (proc(5)): memory and processor.

import { readFileSync } from 'node:fs';

/** Clock ticks a second, as proc(5) counts processor time; 100 on every Linux in use. */
const TICKS_PER_S = 100;

/** Memory a process has in hand, in bytes. */
export function residentBytes(pid) {
  const line = /^VmRSS:\s+(\d+) kB/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
  return Number(line[1]) * 1024;
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
