import { ask } from './clip/editor-link.ts';

/** A card as the API gives it. */
export type CardNow = Readonly<Record<string, unknown>> & {
  readonly playId: string;
  readonly version: number;
};

/** The card as the server has it now. */
export async function cardNow(address: string): Promise<CardNow | undefined> {
  const [program, playId] = address.split('/plays/') as [string, string];
  const { plays } = await ask<{ plays: CardNow[] }>(program);
  return plays.find((play) => play.playId === playId);
}

const inWords = (value: unknown): string =>
  Array.isArray(value)
    ? value.map(({ text, right }) => `${text}${right ? ' (right)' : ''}`).join('; ')
    : typeof value === 'boolean'
      ? value
        ? 'yes'
        : 'no'
      : String(value ?? '');

/** What of theirs differs from mine, and two buttons to choose by. */
export function showBoth(
  place: HTMLElement,
  mine: Readonly<Record<string, unknown>>,
  theirs: CardNow,
  { onMine, onTheirs }: { onMine(): void; onTheirs(): void },
): void {
  const element = (name: string, text = '') =>
    Object.assign(document.createElement(name), text ? { textContent: text } : {});
  const box = element('section');
  box.className = 'notice bad';
  box.setAttribute('role', 'alert');
  const list = element('dl');
  list.className = 'facts';
  for (const [field, value] of Object.entries(mine)) {
    const [own, other] = [inWords(value), inWords(theirs[field])];
    if (own === other || field === 'answeredOn') continue;
    const label = document.querySelector(`label[for="field-${field}"]`)?.textContent ?? field;
    const line = element('div');
    line.append(
      element('dt', label),
      element('dd', `Yours: ${own || 'empty'}`),
      element('dd', `Theirs: ${other || 'empty'}`),
    );
    list.append(line);
  }
  const actions = element('p');
  actions.className = 'actions';
  const button = (words: string, second: boolean, act: () => void) => {
    const made = element('button', words) as HTMLButtonElement;
    Object.assign(made, { type: 'button', className: second ? 'second' : '' });
    made.addEventListener('click', () => {
      place.replaceChildren();
      act();
    });
    return made;
  };
  actions.append(button('Keep mine', false, onMine), button('Take theirs', true, onTheirs));
  box.append(
    element(
      'p',
      'Somebody else changed this card while you wrote. Yours is not kept yet, and nothing is lost.',
    ),
    list,
    actions,
  );
  place.replaceChildren(box);
}
