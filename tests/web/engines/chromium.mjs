// Debian's Chromium, as the other tests start it.

import path from 'node:path';
import * as stage from '../stage.mjs';
import { folder, trustList } from './trust.mjs';

/** With an authority in its user's list it trusts that too. */
export async function open({ authority } = {}) {
  const home = folder();
  trustList(path.join(home, '.pki/nssdb'), authority);
  const browser = await stage.openBrowser({ home });
  return {
    version: `Chromium ${browser.version()}`,
    async show(url, init) {
      const context = await browser.newContext({ viewport: { width: 1280, height: 720 } });
      const page = await context.newPage();
      await page.addInitScript(init);
      await page.goto(url);
      return {
        evaluate: (expression) => page.evaluate(expression),
        close: () => context.close(),
      };
    },
    close: () => browser.close(),
  };
}
