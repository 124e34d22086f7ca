import { clockInWords } from '../../../football/clock-words.ts';

// A sitting of a quiz: each answer goes to the server as it is given, what did not arrive goes again, the time left is
// told from the server's clock, and at its end the form hands itself in.

import { withToken } from '../../../web/browser/with-token.ts';

const againMs = 3000;

interface Kept {
  readonly kept: boolean;
  readonly said: string | null;
  readonly secondsLeft: number;
}

const root = document.querySelector<HTMLFormElement>('form[data-sitting]');
if (root) sit(root);

function sit(form: HTMLFormElement): void {
  const at = <Found extends HTMLElement = HTMLElement>(selector: string) =>
    document.querySelector<Found>(selector)!;
  const clock = at('[data-left]');
  const said = at('[data-said]');
  const waiting = new Map<string, string>();
  let ends = performance.now() + Number(form.dataset.left) * 1000;
  let sending = false;
  let over = false;
  let warned = false;

  const tell = (text: string, tone: string) => {
    said.textContent = text;
    said.className = `notice ${tone}`;
    said.hidden = false;
  };

  function tick(): void {
    const left = Math.max(0, Math.ceil((ends - performance.now()) / 1000));
    clock.textContent = clockInWords(left);
    if (left <= 60 && !warned) {
      warned = true;
      clock.classList.add('short');
      at('[data-minute]').textContent = 'One minute is left.';
    }
    if (left === 0 && !over) {
      over = true;
      at<HTMLInputElement>('[data-act]').value = 'hand in';
      // What was given is with the server; it closes the sitting by its own clock in any case.
      form.submit();
    }
  }

  async function send(): Promise<void> {
    if (sending || over) return;
    const next = waiting.entries().next().value;
    if (!next) return;
    sending = true;
    const [place, choice] = next;
    try {
      const answer = await withToken(`${form.dataset.api}/${place}`, {
        method: 'PUT',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ choice: Number(choice) }),
      });
      if (answer.ok) {
        const kept = (await answer.json()) as Kept;
        if (waiting.get(place) === choice) waiting.delete(place);
        if (kept.kept) {
          ends = performance.now() + kept.secondsLeft * 1000;
          at('[data-answered]').textContent = String(
            form.querySelectorAll('input[type=radio]:checked').length,
          );
          if (waiting.size === 0) tell('Kept.', 'good');
        } else {
          over = true;
          tell(kept.said ?? '', 'bad');
          location.reload();
        }
      } else {
        const { detail } = (await answer.json().catch(() => ({}))) as { detail?: string };
        tell(detail ?? 'This answer could not be kept. It is sent again.', 'bad');
      }
    } catch {
      tell(
        'The connection is away. Your answers stay here and are sent by themselves when it is back; the time goes on.',
        'warn',
      );
    }
    sending = false;
    if (waiting.size > 0) setTimeout(() => void send(), said.classList.contains('good') ? 0 : againMs);
  }

  form.addEventListener('change', ({ target }) => {
    const input = target as HTMLInputElement;
    if (input.type !== 'radio') return;
    waiting.set(input.name.slice(1), input.value);
    void send();
  });
  addEventListener('online', () => void send());
  setInterval(tick, 500);
  tick();
}
