// Chromium 78, as televisions of its years have it: no
// `requestVideoFrameCallback`, so the page goes by the media clock (tier B).
//
// It comes brotli-packed in an npm package and is unpacked into target/. There
// is none for ARM.

import { chmodSync, existsSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { brotliDecompressSync } from 'node:zlib';
import CDP from 'chrome-remote-interface';
import * as stage from '../stage.mjs';

function unpacked() {
  const file = path.join(stage.root, 'target/engines/chromium78/chromium');
  if (!existsSync(file)) {
    const here = path.dirname(fileURLToPath(import.meta.url));
    const packed = readFileSync(path.join(here, 'node_modules/chrome-aws-lambda/bin/chromium.br'));
    mkdirSync(path.dirname(file), { recursive: true });
    // Whole or not at all, should this be stopped half-way.
    writeFileSync(`${file}.part`, brotliDecompressSync(packed));
    chmodSync(`${file}.part`, 0o755);
    renameSync(`${file}.part`, file);
  }
  return file;
}

export async function open() {
  const profile = mkdtempSync(path.join(tmpdir(), 'chromium78-'));
  const { child, match } = await stage.startFile(unpacked(), [
    '--headless', '--no-sandbox', '--disable-gpu', '--no-first-run', '--window-size=1280,720',
    '--disable-background-networking', `--user-data-dir=${profile}`, '--remote-debugging-port=0', 'about:blank',
  ], /DevTools listening on ws:\/\/127\.0\.0\.1:(\d+)\//);
  const port = Number(match[1]);
  const { Browser } = await CDP.Version({ port });
  return {
    version: Browser,
    async show(url, init) {
      const target = await CDP.New({ port });
      const client = await CDP({ port, target });
      const { Page, Runtime } = client;
      await Page.enable();
      await Page.addScriptToEvaluateOnNewDocument({ source: init });
      const loaded = Page.loadEventFired();
      await Page.navigate({ url });
      await loaded;
      return {
        async evaluate(expression) {
          const { result, exceptionDetails } = await Runtime.evaluate({ expression, returnByValue: true });
          if (exceptionDetails) throw new Error(`${exceptionDetails.text} ${result.description}`);
          return result.value;
        },
        async close() {
          await client.close();
          await CDP.Close({ port, id: target.id });
        },
      };
    },
    async close() {
      await stage.end(child);
      rmSync(profile, { recursive: true, force: true });
    },
  };
}
