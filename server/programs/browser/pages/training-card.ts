import { fitInWords, readingFit } from '../../../training/reading-time.ts';
import { cardOfFields } from '../../card-of-form.ts';
import { type CardNow, cardNow, showBoth } from '../card-conflict.ts';
import { Autosave, stateInWords } from '../clip/autosave.ts';
import { ask } from '../clip/editor-link.ts';

// A card that is kept while it is written; its form works without this as well. And while a narration is typed, how long
// it takes to read beside how long its clip is.
const form = document.querySelector<HTMLFormElement>('form#card');
if (form) follow(form);

function follow(card: HTMLFormElement): void {
  const narration = card.querySelector<HTMLTextAreaElement>('#field-narration');
  const said = document.getElementById('reading');
  const state = card.querySelector<HTMLElement>('[data-card-state]')!;
  const both = card.querySelector<HTMLElement>('[data-card-both]')!;
  const seen = card.querySelector<HTMLInputElement>('input[name=version]')!;
  const address = card.dataset.card!;
  const fieldText = (name: string) => {
    const field = card.elements.namedItem(name);
    if (field instanceof HTMLInputElement && field.type === 'checkbox') return field.checked ? 'yes' : '';
    return field && 'value' in field ? String(field.value).trim() : '';
  };
  const values = () => cardOfFields(fieldText);

  function tell(): void {
    if (!narration || !said) return;
    const planned = Number(fieldText('secondsBefore')) + Number(fieldText('secondsAfter'));
    const fit = readingFit(narration.value, Number(card.dataset.clip ?? planned) || 0);
    said.textContent = fitInWords(fit);
    said.classList.toggle('wrong', fit.over > 0);
  }

  const keep = async (sent: ReturnType<typeof values>) => {
    const kept = await ask<{ plays: CardNow[] }>(address, {
      method: 'PUT',
      json: { card: sent, version: Number(seen.value), goesOn: true },
    });
    const now = kept.plays.find(({ playId }) => address.endsWith(playId));
    if (now) seen.value = String(now.version);
  };
  const keeper = new Autosave(
    keep,
    (now) => {
      state.hidden = false;
      state.textContent = `Card: ${stateInWords(now)}`;
      state.classList.toggle('good', now.is === 'saved');
      state.classList.toggle('wrong', now.is === 'refused' || now.is === 'offline');
      if (now.is === 'changed by somebody else') void ofBoth();
    },
    1500,
  );
  async function ofBoth(): Promise<void> {
    const theirs = await cardNow(address).catch(() => undefined);
    if (!theirs) return;
    showBoth(both, values(), theirs, {
      onMine: () => {
        seen.value = String(theirs.version);
        void keeper.now();
      },
      onTheirs: () => {
        keeper.forget();
        location.reload();
      },
    });
  }

  card.addEventListener('input', () => {
    keeper.changed(values());
    tell();
  });
  card.addEventListener('clip', tell);
  card.addEventListener('submit', (event) => {
    keeper.forget();
    if (!keeper.underway) return;
    // Its answer brings the version that the form must send, or the form would be refused for our own change.
    event.preventDefault();
    void keeper.underway.then(() => card.requestSubmit(event.submitter));
  });
  if (card.dataset.sent !== undefined)
    window.addEventListener('beforeunload', (event) => {
      if (card.dataset.sent !== undefined) event.preventDefault();
    });
  card.addEventListener('submit', () => {
    delete card.dataset.sent;
  });
}
