import { useId, useRef, useState } from 'preact/hooks';

export interface Choice {
  readonly id: string;
  readonly name: string;
  /** Beside the name, as what they usually work. */
  readonly about?: string;
}

interface Props {
  label: string;
  letter: string;
  choices: readonly Choice[];
  chosen: string | undefined;
  disabled: boolean;
  onChoose(id: string | undefined): void;
}

/** At most so many are listed: typing one more letter is quicker than scrolling. */
const mostListed = 8;

/**
 * Finds a person by typing any part of the name. An editable combobox with a list, as the ARIA Authoring Practices
 * describe it: arrows move in the list, Enter takes the marked one, Escape brings back who was chosen. Left empty,
 * nobody is chosen.
 */
export function PersonCombobox({ label, letter, choices, chosen, disabled, onChoose }: Props) {
  const id = useId();
  const nameOf = (person: string | undefined) => choices.find((one) => one.id === person)?.name ?? '';
  const [typed, type] = useState<string>();
  /** Opened by an arrow key: everybody is listed, though nothing is typed. */
  const [browsing, browse] = useState(false);
  const [marked, mark] = useState(0);
  const input = useRef<HTMLInputElement>(null);
  // An emptied field lists nobody: it means nobody, and what is under the list stays in reach.
  const found =
    typed === undefined || (typed.trim() === '' && !browsing)
      ? []
      : matching(choices, typed).slice(0, mostListed);
  const open = typed !== undefined;
  const text = typed ?? nameOf(chosen);

  const close = () => {
    type(undefined);
    browse(false);
    mark(0);
  };
  const take = (choice: Choice | undefined) => {
    onChoose(choice?.id);
    close();
  };
  const leave = () => {
    if (typed === undefined) return;
    if (typed.trim() === '') return browsing ? close() : take(undefined);
    const only = found.length === 1 ? found[0] : found.find(({ name }) => plain(name) === plain(typed));
    if (only) return take(only);
    close();
  };
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.key === 'ArrowDown' || event.key === 'ArrowUp') {
      event.preventDefault();
      event.stopPropagation();
      if (!open) {
        type('');
        browse(true);
      } else if (found.length > 0) {
        mark((marked + (event.key === 'ArrowDown' ? 1 : found.length - 1)) % found.length);
      }
    } else if (event.key === 'Enter' && open) {
      event.preventDefault();
      if (found[marked]) take(found[marked]);
      else if (typed.trim() === '') take(undefined);
    } else if (event.key === 'Escape' && open) {
      // Not the dialog: only what was being typed.
      event.preventDefault();
      event.stopPropagation();
      close();
    }
  };

  return (
    <div class="person-combobox">
      <label for={id}>
        {label} <small>({letter})</small>
      </label>
      <input
        ref={input}
        id={id}
        type="text"
        role="combobox"
        autocomplete="off"
        spellcheck={false}
        aria-autocomplete="list"
        aria-expanded={open}
        aria-controls={`${id}-list`}
        aria-activedescendant={open && found[marked] ? `${id}-${marked}` : undefined}
        placeholder="nobody"
        value={text}
        disabled={disabled}
        onFocus={(event) => event.currentTarget.select()}
        onInput={(event) => {
          type(event.currentTarget.value);
          browse(false);
          mark(0);
        }}
        onKeyDown={onKeyDown}
        onBlur={leave}
      />
      <div id={`${id}-list`} role="listbox" aria-label={label} hidden={!open || found.length === 0}>
        {found.map((choice, at) => (
          <div
            key={choice.id}
            id={`${id}-${at}`}
            role="option"
            tabIndex={-1}
            aria-selected={at === marked}
            // Before the input loses the focus, so that this is what is taken.
            onPointerDown={(event) => {
              event.preventDefault();
              take(choice);
            }}
          >
            {choice.name} {choice.about && <small>{choice.about}</small>}
          </div>
        ))}
      </div>
      <small role="status" class="wrong">
        {open && typed.trim() !== '' && found.length === 0
          ? `No official here is called “${typed.trim()}”. Ask the coordinator to add them.`
          : ''}
      </small>
    </div>
  );
}

const plain = (text: string) => text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase().trim();

/** Every word typed begins a part of the name, in any order; nothing typed lists those given first. */
function matching(choices: readonly Choice[], typed: string): Choice[] {
  const words = plain(typed)
    .split(/\s+/)
    .filter((word) => word !== '');
  return choices.filter(({ name }) => {
    const parts = plain(name).split(/[\s'’-]+/);
    return words.every((word) => parts.some((part) => part.startsWith(word)));
  });
}
