import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import type { Play } from '../../football/play.ts';
import { type Chip, type Open, readWords, type SaidContext } from '../../football/said/index.ts';
import { otherWords } from '../../football/said/other-words.ts';
import { samePlay } from './same-play.ts';

interface Props {
  play: Play;
  context: SaidContext;
  onTurn(): void;
  /** The play as the line has it so far; undefined while it says nothing. */
  onSaid(play: Play | undefined): void;
  /** Keeps what was said. `over` is what was not understood and is to be kept as it stands. */
  onKeep(play: Play, over: string): void;
  onNext(): void;
}

/**
 * One line of words: the play as somebody says it. Each part that is understood becomes a chip, and the line stays to
 * be changed as long as nothing else changes the play.
 */
export function PlayLine({ play, context, onTurn, onSaid, onKeep, onNext }: Props) {
  const [text, setText] = useState('');
  const [base, setBase] = useState(play);
  const [active, setActive] = useState(-1);
  const [warned, warn] = useState(false);
  const [opened, openChip] = useState<number>();
  const input = useRef<HTMLInputElement>(null);
  const list = useRef<HTMLUListElement>(null);
  const kept = useRef(play);
  const said = useMemo(() => readWords(text, base, context), [text, base, context]);

  // Changed by touch, by undo or elsewhere: what was understood is in it or gone, and the line begins anew.
  useEffect(() => {
    if (samePlay(play, kept.current)) return;
    kept.current = play;
    setBase(play);
    setText(leftOver(said.open));
    openChip(undefined);
  }, [play]);

  useEffect(() => onSaid(text.trim() === '' ? undefined : said.play), [said]);

  const keep = (over = '') => {
    const unsaid = text.trim() === '' || samePlay(said.play, kept.current);
    if (unsaid && over === '') return;
    kept.current = said.play;
    onKeep(said.play, over);
  };
  const write = (next: string) => {
    setText(next);
    setActive(-1);
    warn(false);
  };
  const withWord = ({ from, to }: { from: number; to: number }, word: string) =>
    spaced(text.slice(0, from), word, text.slice(to));
  const replace = (part: { from: number; to: number }, word: string) => write(withWord(part, word));
  const othersFor = (chip: Chip) =>
    otherWords(chip, (word) => readWords(withWord(chip, word), base, context));

  const unread = said.open[0];
  const nearest = unread?.nearest.slice(0, 5) ?? [];
  const next = () => {
    if (unread && active >= 0) return replace(unread, nearest[active]!);
    if (unread && !warned) {
      warn(true);
      input.current?.setSelectionRange(unread.from, unread.to);
      return;
    }
    const over = leftOver(said.open);
    keep(over);
    setText('');
    onNext();
  };
  const toChip = (at: number) =>
    requestAnimationFrame(() => {
      const chips = [...(list.current?.querySelectorAll<HTMLElement>('.said-chip') ?? [])];
      (chips[Math.min(at, chips.length - 1)] ?? input.current)?.focus();
    });

  const onKey = (event: KeyboardEvent) => {
    if (event.isComposing) return;
    if (event.key === 'Enter') {
      event.preventDefault();
      next();
    } else if (event.key === 'ArrowDown' || event.key === 'ArrowUp') {
      event.preventDefault();
      if (nearest.length > 0) {
        const step = event.key === 'ArrowDown' ? 1 : -1;
        setActive(
          (active + step + nearest.length + 1) % (nearest.length + 1) === nearest.length ? -1 : active + step,
        );
      } else if (event.key === 'ArrowDown') toChip(0);
    }
  };
  const onChipKey = (event: KeyboardEvent, chip: Chip, at: number) => {
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (event.key === 'ArrowLeft' || event.key === 'ArrowRight') {
      const to = at + (event.key === 'ArrowRight' ? 1 : -1);
      if (to < 0) input.current?.focus();
      else toChip(to);
    } else if (step !== undefined) {
      const { words, at: now, numeric } = othersFor(chip);
      // Up is more for a number, and the one before in a list.
      const other = words[numeric ? now - step : (now + step + words.length) % words.length];
      if (other !== undefined) replace(chip, other);
      toChip(at);
    } else if (event.key === 'Delete' || event.key === 'Backspace') {
      replace(chip, '');
      toChip(at);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  };

  const chips = said.chips.filter(({ says }) => says !== '');
  const chosen = opened === undefined ? undefined : chips[opened];
  const others = chosen && othersFor(chosen);
  const status =
    unread && warned
      ? `“${leftOver(said.open)}” is not understood. Change it, or press Enter again to keep it as a note.`
      : '';
  return (
    <div class="say">
      <label for="say">Say the play</label>
      <div class="say-field">
        <div class="say-under" aria-hidden="true">
          {pieces(text, said.open).map(({ piece, open }, at) =>
            open ? <mark key={at}>{piece}</mark> : piece,
          )}
        </div>
        <input
          ref={input}
          id="say"
          type="text"
          role="combobox"
          aria-autocomplete="list"
          aria-haspopup="listbox"
          aria-expanded={nearest.length > 0}
          aria-controls="say-nearest"
          aria-activedescendant={active >= 0 ? `say-nearest-${active}` : undefined}
          aria-describedby="say-help"
          aria-invalid={warned && unread ? 'true' : undefined}
          autocomplete="off"
          autocapitalize="off"
          autocorrect="off"
          spellcheck={false}
          enterkeyhint="next"
          placeholder="run left 3"
          value={text}
          onInput={(event) => write(event.currentTarget.value)}
          onKeyDown={onKey}
          onBlur={() => keep()}
        />
      </div>
      <div id="say-nearest" role="listbox" aria-label="Nearest words" hidden={nearest.length === 0}>
        {nearest.map((word, at) => (
          <button
            type="button"
            key={word}
            id={`say-nearest-${at}`}
            role="option"
            tabIndex={-1}
            aria-selected={at === active}
            onMouseDown={(event) => event.preventDefault()}
            onClick={() => {
              replace(unread!, word);
              input.current?.focus();
            }}
          >
            {word}
          </button>
        ))}
      </div>
      {chips.length > 0 && (
        <ul ref={list} class="said" aria-label="Understood">
          {chips.map((chip, at) => (
            <li key={at}>
              <button
                type="button"
                class="said-chip"
                aria-expanded={opened === at}
                onKeyDown={(event) => onChipKey(event, chip, at)}
                onClick={() => openChip(opened === at ? undefined : at)}
              >
                {chip.says}
              </button>
            </li>
          ))}
        </ul>
      )}
      {chosen && (
        <fieldset class="chips other-words" data-arrows>
          <legend>In place of “{chosen.text}”</legend>
          {others!.words.map((word, at) => (
            <button
              key={word}
              type="button"
              class="chip"
              aria-pressed={at === others!.at}
              onClick={() => {
                replace(chosen, word);
                openChip(undefined);
                input.current?.focus();
              }}
            >
              {word}
            </button>
          ))}
          <button
            type="button"
            class="chip other"
            onClick={() => {
              replace(chosen, '');
              openChip(undefined);
              input.current?.focus();
            }}
          >
            Take away
          </button>
        </fieldset>
      )}
      <p class="say-help soft" id="say-help">
        <span>
          <kbd>.</kbd> nothing else, <kbd>Enter</kbd> next play
        </span>
        <button type="button" class="link" onClick={onTurn}>
          Left is the {(context.left ?? 'head linesman side').replace(' side', '’s side')}
          <span class="visually-hidden">: turn it round</span>
        </button>
      </p>
      <p class={status === '' ? 'visually-hidden' : 'wrong'} role="status">
        {status}
      </p>
    </div>
  );
}

const leftOver = (open: readonly Open[]) => open.map(({ text }) => text).join(' ');

function spaced(before: string, word: string, after: string): string {
  const start = before === '' || word === '' || before.endsWith(' ') ? before : `${before} `;
  const rest = after === '' || after.startsWith(' ') || word === '' ? after : ` ${after}`;
  return `${start}${word}${rest}`;
}

/** The line cut where it was not understood. */
function pieces(text: string, open: readonly Open[]): { piece: string; open: boolean }[] {
  const result = [];
  let at = 0;
  for (const part of open) {
    result.push({ piece: text.slice(at, part.from), open: false }, { piece: part.text, open: true });
    at = part.to;
  }
  return [...result, { piece: text.slice(at), open: false }];
}
