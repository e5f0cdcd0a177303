// Whether other browser engines believe the box when they trust its authority,
// refuse it when they do not, and then do what a class needs: a phone signs in
// and lets a TV in by the code that it shows, and the late picture comes.
//
//   scripts/try-engines --https [firefox,webkitgtk,chromium]
//
// Trust is given as a technician gives it: to Firefox and Chromium in their own
// lists, to WebKitGTK in the system's. No certificate error is ever overlooked.

import { writeFileSync } from 'node:fs';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { back, offBy } from './back.mjs';

export const ENGINES = ['firefox', 'webkitgtk', 'chromium'];
const WORDS = 'wide mat, low beam';
const DELAY_MS = 2000;
const LONGEST_MS = 60000;
const LOOK_MS = 250;
const READ_MS = 4000;

/** The box, at a loopback address of its own, and its authority as a file. */
async function openBox(camera) {
  const address = `127.0.0.${2 + (process.pid % 200)}`;
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, url: camera.url }], {
    top: `[https]\nlisten = "${address}:8443"\n`, door: 'sign-in',
  });
  await stage.until('the code on the console', () => /type this code: (\w+)/.test(server.child.said));
  const reply = await fetch(`${server.base}/trust/afterturn.pem`);
  const authority = path.join(server.folder, 'authority.pem');
  writeFileSync(authority, Buffer.from(await reply.arrayBuffer()));
  return { ...server, authority, secure: `https://${address}:8443`, code: /type this code: (\w+)/.exec(server.child.said)[1] };
}

/** Waits for an expression in a page that may be on its way to another. */
function becomes(screen, expression) {
  return stage.until(expression, () => screen.evaluate(expression).catch(() => null), { within_ms: LONGEST_MS, every_ms: LOOK_MS });
}

/** Fills fields in and presses the button of their form. */
function send(screen, fields, form) {
  return screen.evaluate(`(function () {
    var fields = ${JSON.stringify(fields)};
    Object.keys(fields).forEach(function (id) { document.getElementById(id).value = fields[id]; });
    document.querySelector('${form} button[type=submit]').click();
    return true;
  })()`);
}

/** Without trust there is no page of the box's, whatever the engine shows instead. */
async function refuses(open, box) {
  const stranger = await open({});
  try {
    const screen = await stranger.show(`${box.secure}/trust`, '0');
    const shown = await screen.evaluate('document.querySelector("#fingerprint") === null');
    if (!shown) throw new Error('it shows the page of a box that it does not trust');
    return 'an error page';
  } catch (refused) {
    const said = String(refused.message).split('\n')[0];
    if (!/cert|SSL|SEC_ERROR|TLS|insecure/i.test(said)) throw refused;
    return said;
  } finally {
    await stranger.close();
  }
}

async function lateOn(tv) {
  await tv.evaluate(`(${probe})()`);
  const seen = [];
  const look = async () => { seen.push(...await tv.evaluate('window.probe.splice(0)')); };
  await stage.until('the late picture is on the glass', async () => {
    await look();
    return back(seen, 0, DELAY_MS);
  }, { within_ms: LONGEST_MS, every_ms: LOOK_MS });
  seen.length = 0;
  await stage.sleep(READ_MS);
  await look();
  return offBy(seen, DELAY_MS);
}

async function tryOne(name) {
  const { open } = await import(`./${name}.mjs`);
  const camera = await stage.startCamera();
  const box = await openBox(camera);
  const refusal = await refuses(open, box);
  const [phone, tv] = [await open({ authority: box.authority }), await open({ authority: box.authority })];
  try {
    const screen = await tv.show(`${box.secure}/tv/1`, '0');
    const code = await becomes(screen, '(/^\\w{3} \\w{3}$/.exec(document.getElementById("code").textContent.trim()) || [""])[0].replace(" ", "")');
    const opens = await screen.evaluate('document.getElementById("opens").textContent');
    await becomes(screen, 'document.getElementById("photograph").naturalWidth > 0');
    if (!await screen.evaluate('window.isSecureContext')) throw new Error('it is no secure context');
    const hand = await phone.show(`${opens}#${code}`, '0');
    await becomes(hand, 'location.pathname === "/sign-in"');
    await send(hand, { code: box.code, passphrase: WORDS, again: WORDS }, 'form');
    await becomes(hand, 'location.pathname === "/screens" && document.readyState === "complete"');
    const filledIn = await becomes(hand, 'document.getElementById("code").value.replace(" ", "")');
    if (filledIn !== code) throw new Error(`the phone has the code ${filledIn}, the TV shows ${code}`);
    await send(hand, { station: '1' }, 'form.door');
    await becomes(screen, 'location.pathname === "/tv/1" && document.readyState === "complete"');
    const off = await lateOn(screen);
    return { version: tv.version, refusal, ...off };
  } finally {
    await phone.close();
    await tv.close();
    await Promise.all([stage.end(camera.child, 'SIGKILL'), stage.end(box.child, 'SIGKILL')]);
  }
}

/** Tries each; says whether all did. */
export async function tryHttps(names) {
  let well = true;
  for (const name of names) {
    try {
      const r = await tryOne(name);
      console.log(`${name}: ${r.version}\n    untrusted: ${r.refusal}\n    trusted: signed in, let in, and ${(r.middle_ms).toFixed(0)} ms from the delay, `
        + `p95 ${r.p95_ms.toFixed(0)} ms, ${(r.pictures / READ_MS * 1000).toFixed(0)} pictures/s`);
    } catch (problem) {
      well = false;
      console.log(`${name}: NOT: ${problem.stack}`);
    } finally {
      await stage.endAll();
    }
  }
  return well;
}
