/**
 * What the remote says of parts of the program that failed lately and were
 * started again.
 *
 * Not here: for how long it is said (the box decides).
 */

/**
 * @param {import('./wire').FailedPart[]} failed
 * @param {(id: string, values?: Object<string, any>) => string} words
 * @returns {string[]} a line each
 */
export function failedSaid(failed, words) {
  return failed.map(function (one) {
    const what = words('live-failed-' + one.part.name, Object.assign({}, one.part));
    return what + ' ' + words(one.runs ? 'live-failed-runs' : 'live-failed-waits');
  });
}
