import { readingFit } from '../../../training/reading-time.ts';

// While a narration is typed, how long it takes to read beside how long its clip is; and a warning before leaving what
// was not kept.
const form = document.querySelector<HTMLFormElement>('#card');
const narration = document.querySelector<HTMLTextAreaElement>('#field-narration');
const said = document.getElementById('reading');
const number = (name: string) =>
  Number(document.querySelector<HTMLInputElement>(`#field-${name}`)?.value ?? 0) || 0;

function tell(): void {
  if (!narration || !said) return;
  const fit = readingFit(narration.value, number('secondsBefore') + number('secondsAfter'));
  said.textContent =
    fit.words === 0
      ? `The clip is ${fit.clipSeconds} seconds long.`
      : `${fit.words} words, ${fit.readingSeconds} seconds aloud; the clip is ${fit.clipSeconds} seconds long.${fit.over > 0 ? ` ${fit.over} seconds too long: leave out ${fit.wordsTooMany} words, or show more of the play.` : ''}`;
  said.classList.toggle('wrong', fit.over > 0);
}

let changed = form?.dataset.sent !== undefined;
form?.addEventListener('input', () => {
  changed = true;
  tell();
});
form?.addEventListener('submit', () => {
  changed = false;
});
window.addEventListener('beforeunload', (event) => {
  if (changed) event.preventDefault();
});
