// Debian's Firefox, driven over WebDriver BiDi.

import puppeteer from 'puppeteer-core';
import { folder, trustList } from './trust.mjs';

/** With an authority in its profile's list it trusts that too. */
export async function open({ authority } = {}) {
  const profile = folder();
  trustList(profile, authority);
  const browser = await puppeteer.launch({
    browser: 'firefox',
    executablePath: process.env.FIREFOX || '/usr/bin/firefox-esr',
    headless: true,
    userDataDir: profile,
    acceptInsecureCerts: false,
    defaultViewport: { width: 1280, height: 720 },
  });
  return {
    version: await browser.version(),
    async show(url, init) {
      const page = await browser.newPage();
      await page.evaluateOnNewDocument(init);
      await page.goto(url);
      return {
        evaluate: (expression) => page.evaluate(expression),
        close: () => page.close(),
      };
    },
    close: () => browser.close(),
  };
}
