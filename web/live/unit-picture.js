/**
 * A teacher's own picture for a cue or a choice: chosen, sent to the box, shown,
 * and taken out again.
 *
 * Not here: what becomes of it there (the box makes it anew and names it).
 */

import { make } from './page-parts.js';

/** What the box takes at most; more is not even sent. */
const MOST_BYTES = 8 * 1024 * 1024;
/** A large picture over a slow network. */
const PATIENCE_MS = 60000;

/**
 * @param {Blob} file
 * @returns {Promise<{picture: string} | {detail: string}>}
 */
function send(file) {
  const stop = new AbortController();
  const timer = setTimeout(function () { stop.abort(); }, PATIENCE_MS);
  return fetch('/api/pictures', { method: 'POST', body: file, headers: { 'content-type': 'application/octet-stream' }, signal: stop.signal, cache: 'no-store' })
    .then(function (answer) {
      clearTimeout(timer);
      return answer.json();
    });
}

/**
 * @param {import('./unit-inputs.js').Inputs} form
 * @param {string[]} path
 * @param {any} holder
 * @returns {HTMLElement}
 */
export function pictureField(form, path, holder) {
  const key = form.key(path);
  const words = form.words;
  const name = holder.picture;
  const input = /** @type {HTMLInputElement} */ (make('input', { type: 'file', accept: 'image/jpeg,image/png', id: 'field-' + key }));
  const said = make('p', { class: 'picture-said', role: 'status' });
  const part = make('div', { class: 'field picture' }, [make('label', { for: input.id }, [words('live-unit-picture')])]);
  if (typeof name === 'string') {
    const shown = /** @type {HTMLImageElement} */ (make('img', { src: '/api/pictures/' + encodeURIComponent(name), alt: words('live-unit-picture-shown') }));
    // The missing file is said at this field already.
    shown.addEventListener('error', function () { shown.hidden = true; });
    part.append(shown, form.button('remove-' + key, words('live-unit-picture-remove'), function () {
      form.change({ set: { at: path, to: null } }, true);
    }));
  }
  part.append(make('p', { class: 'what', id: 'what-' + key }, [words('live-unit-picture-what')]), input, said, form.place(path, input));
  input.setAttribute('aria-describedby', 'what-' + key + ' said-' + key);
  input.addEventListener('change', function () {
    const file = input.files === null ? undefined : input.files[0];
    if (!file) return;
    if (file.size > MOST_BYTES) {
      said.textContent = words('live-unit-picture-too-large');
      return;
    }
    said.textContent = words('live-unit-picture-sending');
    send(file).then(function (answer) {
      if (!('picture' in answer)) {
        said.textContent = words('live-unit-picture-refused');
        return;
      }
      // A picture stands instead of a figure.
      const figure = path.slice(0, -1).concat('figure');
      if (form.has(figure)) form.change({ set: { at: figure, to: null } }, false);
      form.change({ set: { at: path, to: answer.picture } }, true);
    }, function () { said.textContent = words('live-unit-no-answer'); });
  });
  return part;
}
