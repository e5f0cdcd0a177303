// Whom the pages of a test ask for anything: only the box that they came from.

import assert from 'node:assert/strict';

/** What a page makes itself, or has beside it on a stick, without asking anybody. */
const OWN = ['blob:', 'data:', 'file:'];

/**
 * Writes down what every page of this browser asks for, from its first request
 * on, sockets too. Call what it returns at the end: it fails on any other
 * address than those the test itself opened on this machine, or under a name
 * that the test has lead here.
 */
export function watchRequests(browser, names = []) {
  const asked = [];
  const opened = new Set();
  const newContext = browser.newContext.bind(browser);
  browser.newContext = async (...options) => {
    const context = await newContext(...options);
    context.on('request', (request) => asked.push(request.url()));
    context.on('page', (page) => {
      page.on('websocket', (socket) => asked.push(socket.url()));
      const goto = page.goto.bind(page);
      page.goto = (url, more) => {
        opened.add(new URL(url).host);
        return goto(url, more);
      };
    });
    return context;
  };
  return () => {
    assert.ok(asked.length > 0, 'requests were seen at all');
    assert.ok(asked.some((url) => /^(https?|wss?):/.test(url)), 'some to the box');
    const elsewhere = asked.filter((url) => {
      const { protocol, host, hostname } = new URL(url);
      return !OWN.includes(protocol) && !((hostname.startsWith('127.0.0.') || names.includes(hostname)) && opened.has(host));
    });
    assert.deepEqual(elsewhere, [], 'nobody but the box is asked for anything');
  };
}
