// A picture opened large: over everything, closed with Escape, a click or the button.
import { find } from './state.js';

export function openLarge(title, picture) {
  const dialog = find('large'), place = find('large-picture'), copy = picture.cloneNode(true);
  copy.removeAttribute('id');
  if (copy.src) copy.src = copy.src.split('#')[0];  // all of it, not the part that is shown beside the day
  find('large-title').textContent = title;
  place.textContent = '';
  place.appendChild(copy);
  dialog.showModal();
}
export function startLarge() {
  const dialog = find('large');
  dialog.addEventListener('click', (event) => { if (event.target === dialog) dialog.close(); });
  find('large-close').addEventListener('click', () => dialog.close());
  for (const button of document.querySelectorAll('button.larger')) {
    const figure = button.closest('figure');
    const open = () => openLarge(find('detail-title').textContent + ': ' + button.dataset.what, figure.querySelector('svg, img'));
    button.addEventListener('click', open);
    figure.querySelector('.drawing, img').addEventListener('click', open);
  }
}
