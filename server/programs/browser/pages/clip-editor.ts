import { h, render } from 'preact';
import { ClipEditor } from '../clip/clip-editor.tsx';
import { ask, type CutAnswer } from '../clip/editor-link.ts';
import { onFrames } from '../clip/use-cut.ts';

// The page of a play's clip: its film is cut here, and the card beside it is told how long it runs.
const place = document.querySelector<HTMLElement>('#clip-editor');
const card = document.querySelector<HTMLFormElement>('#card');

if (place) {
  try {
    const { address = '', films = '', mark = '', person = '' } = place.dataset;
    const start = await ask<CutAnswer>(address);
    if (start.cut) {
      const first = await onFrames(start.cut, start.films);
      place.replaceChildren();
      render(
        h(ClipEditor, {
          ...{ address, personId: person, start, first },
          narration: () => card?.querySelector<HTMLTextAreaElement>('#field-narration')?.value.trim() ?? '',
          question: () => card?.querySelector<HTMLInputElement>('#field-question')?.value.trim() ?? '',
          onCard: (changed: () => void) => {
            card?.addEventListener('input', changed);
            return () => card?.removeEventListener('input', changed);
          },
          onLength: (seconds: number) => {
            if (card) card.dataset.clip = seconds.toFixed(1);
            card?.dispatchEvent(new Event('clip'));
          },
        }),
        place,
      );
    } else {
      const link = (href: string, words: string) =>
        Object.assign(document.createElement('a'), { href, textContent: words, className: 'button' });
      const words = Object.assign(document.createElement('p'), { className: 'notice' });
      words.append(`There is nothing to cut yet. ${start.lacking ?? ''}`);
      const actions = Object.assign(document.createElement('p'), { className: 'actions' });
      if (start.films.length > 0) actions.append(link(mark, 'Mark its snap in the film'));
      else actions.append(link(films, 'Bring a film of the game'));
      place.replaceChildren(words, actions);
    }
    place.dataset.ready = 'true';
  } catch (error) {
    const words = Object.assign(document.createElement('p'), { className: 'notice bad' });
    words.setAttribute('role', 'alert');
    words.textContent = `The clip could not be opened: ${(error as Error).message}`;
    place.replaceChildren(words);
  }
}
