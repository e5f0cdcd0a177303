/**
 * Carries the code in this page's address through signing in. It stands behind
 * the `#`, so no server is told; the browser hands it on to where it is sent.
 *
 * Not here: signing in, which is a plain form and needs no script.
 */

import { codeIn } from './code.js';

if (codeIn(location.hash) !== '') {
  const forms = document.querySelectorAll('form');
  for (let i = 0; i < forms.length; i += 1) {
    forms[i].action = '/sign-in' + location.hash;
  }
}
