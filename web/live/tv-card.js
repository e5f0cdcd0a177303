/**
 * The card that stands where the picture would be.
 *
 * Not here: when there is one (cover.js), which figure it has (card.js).
 */

import { cardFigure, isSilent } from './card.js';
import { showDrawn } from './figure.js';
import { part, text } from './page-parts.js';

/**
 * @param {import('./cover.js').Cover['card']} card `null`: the picture is seen
 * @param {import('./card.js').Drawn | null} cue the station's cue, as it is drawn
 * @param {string} pictures where pictures are, as the beginning of their address
 * @param {(id: string, values?: {[name: string]: string | number}) => string} words
 */
export function putCard(card, cue, pictures, words) {
  part('card').hidden = card === null;
  part('tv').setAttribute('data-card', card === null ? '' : card.kind);
  if (card === null) {
    return;
  }
  const id = card.kind === 'camera' ? 'live-camera-' + card.camera.replace(/_/g, '-') : 'live-card-' + card.kind;
  const figure = cardFigure(card.kind, cue);
  showDrawn(part('card-shown'), figure, pictures);
  // Dark is dark: nothing is said. Nor why a figure stands for the picture.
  text('card-words', isSilent(card.kind, figure) ? '' : words(id));
  text('card-figure', card.kind === 'filling' ? words('live-figure-seconds', { seconds: card.seconds }) : '');
  part('card').setAttribute('data-kind', card.kind);
}
