// WebKitGTK's own small browser on a screen of its own, driven by classic
// WebDriver (W3C WebDriver, § 8 sessions, § 10 navigation, § 13 scripts).
//
// WebDriver cannot run a script before the page's own, so what is to run in
// the page runs when it has loaded.

import * as stage from '../stage.mjs';
import { listeningPort } from '../process.mjs';
import { trustedBySystem } from './trust.mjs';

async function ask(method, url, body) {
  const reply = await fetch(url, { method, body: body && JSON.stringify(body) });
  const { value } = await reply.json();
  if (!reply.ok) throw new Error(`${method} ${url}: ${value.error}: ${value.message}`);
  return value;
}

/** With an authority it runs where the system trusts that too. */
export async function open({ authority } = {}) {
  const screen = await stage.startFile('Xvfb', ['-displayfd', '1', '-screen', '0', '1280x800x24', '-nolisten', 'tcp'], /^(\d+)\n/m);
  // It says nothing when it is ready.
  const command = [...trustedBySystem(authority), 'sh', '-c', 'echo started; exec WebKitWebDriver --port=0'];
  const driver = await stage.startFile(command[0], command.slice(1), /started/, {
    DISPLAY: `:${screen.match[1]}`,
    LIBGL_ALWAYS_SOFTWARE: '1',
  });
  const port = await stage.until('WebKitWebDriver listens', () => listeningPort(driver.child.pid));
  const base = `http://127.0.0.1:${port}/session`;
  const { sessionId, capabilities } = await ask('POST', base, { capabilities: { alwaysMatch: {} } });
  const session = `${base}/${sessionId}`;
  return {
    version: `${capabilities.browserName} ${capabilities.browserVersion}`,
    async show(url, init) {
      const run = (script) => ask('POST', `${session}/execute/sync`, { script, args: [] });
      await ask('POST', `${session}/url`, { url });
      await run(init);
      return {
        evaluate: (expression) => run(`return (${expression});`),
        close: () => ask('POST', `${session}/url`, { url: 'about:blank' }),
      };
    },
    async close() {
      await ask('DELETE', session);
      await stage.end(driver.child);
      await stage.end(screen.child);
    },
  };
}
