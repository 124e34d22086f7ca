import { useState } from 'preact/hooks';
import { yardLineInWords } from '../../football/fact-words.ts';
import { foulsFromText, foulsToText } from '../../football/fouls.ts';
import { nothingElseHappened } from '../../football/next-play.ts';
import { type Fact, type Play, playSchema } from '../../football/play.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import {
  clockText,
  downText,
  fieldsFor,
  numberFrom,
  type PlayField,
  resultText,
  secondsFrom,
} from '../entry/play-fields.ts';
import { KeptText } from './kept-text.tsx';

interface Props {
  play: EntryPlay;
  open: boolean;
  onChange(part: Partial<Pick<EntryPlay, 'play' | 'filmSeconds' | 'note'>>, label: string): void;
  onInsert(): void;
  onRemove(): void;
}

/** The facts of one play. A fact left open stays unknown, and unknown facts make no opportunities. */
export function PlayFacts({ play: item, open, onChange, onInsert, onRemove }: Props) {
  const { play } = item;
  // A play already logged shows its facts in one line, so that the marking stays in sight.
  const [shown, show] = useState(resultText(play) === '');
  const [wrong, setWrong] = useState<Partial<Record<Fact | 'film' | 'note', string>>>({});

  const put = (fact: Fact, value: unknown, label: string) => {
    const next: Record<string, unknown> = { ...play, [fact]: value };
    if (value === undefined) delete next[fact];
    if (fact === 'kind') {
      // What this kind of play does not have goes; undo brings it back.
      const asked = new Set(
        (['start', 'result', 'more'] as const).flatMap((group) =>
          fieldsFor(value as Play['kind'], group).map((field) => field.fact),
        ),
      );
      for (const other of Object.keys(next)) if (!asked.has(other as Fact)) delete next[other];
    }
    const checked = playSchema.safeParse(next);
    if (!checked.success) {
      setWrong({ ...wrong, [fact]: checked.error.issues[0]!.message });
      return;
    }
    setWrong({ ...wrong, [fact]: undefined });
    onChange({ play: checked.data }, label);
  };

  const fields = (group: PlayField['group']) =>
    fieldsFor(play.kind, group).map((field) => (
      <FactField
        key={field.fact}
        field={field}
        play={play}
        open={open}
        wrong={wrong[field.fact]}
        onWrong={(message) => setWrong({ ...wrong, [field.fact]: message })}
        onChange={(value) => put(field.fact, value, field.label.toLowerCase())}
      />
    ));

  const more = fieldsFor(play.kind, 'more');
  const noted = more.filter((field) => play[field.fact] !== undefined).length;
  return (
    <details
      class="card facts-card"
      open={shown}
      onToggle={(event) => event.target === event.currentTarget && show(event.currentTarget.open)}
    >
      <summary>
        <h2 id="play-title">
          Play {item.number}
          <span class="soft">
            {' '}
            {[play.kind, downText(play), shown ? '' : resultText(play)].filter(Boolean).join(', ')}
          </span>
        </h2>
      </summary>
      <div class="fact-row">{fields('start')}</div>
      <div class="fact-row">{fields('result')}</div>
      <details>
        <summary>
          More facts{' '}
          <span class="soft">
            ({noted} of {more.length} noted)
          </span>
        </summary>
        <div class="fact-row">{fields('more')}</div>
        <div class="fact-row">
          <div class="fact">
            <label for="film-time">Film time</label>
            <KeptText
              id="film-time"
              text={clockText(item.filmSeconds)}
              placeholder="m:ss"
              disabled={!open}
              aria-invalid={wrong.film ? 'true' : undefined}
              onText={(text) => {
                const seconds = text.trim() === '' ? null : secondsFrom(text);
                setWrong({ ...wrong, film: seconds === undefined ? 'write m:ss or h:mm:ss' : undefined });
                if (seconds !== undefined) onChange({ filmSeconds: seconds }, 'film time');
              }}
            />
            {wrong.film && <span class="wrong">{wrong.film}</span>}
          </div>
          <div class="fact fact-wide">
            <label for="play-note">Note for yourself</label>
            <KeptText
              id="play-note"
              maxLength={2000}
              text={item.note}
              disabled={!open}
              onText={(note) => onChange({ note }, 'note')}
            />
          </div>
        </div>
      </details>
      {open && (
        <div class="actions">
          <button
            type="button"
            class="second small"
            onClick={() => onChange({ play: nothingElseHappened(play) }, 'nothing else happened')}
          >
            Nothing else happened
          </button>
          <button type="button" class="second small" onClick={onInsert}>
            Insert a play after this
          </button>
          <button type="button" class="second small" onClick={onRemove}>
            Remove play
          </button>
        </div>
      )}
    </details>
  );
}

interface FieldProps {
  field: PlayField;
  play: Play;
  open: boolean;
  wrong: string | undefined;
  onChange(value: unknown): void;
  onWrong(message: string | undefined): void;
}

function FactField({ field, play, open, wrong, onChange, onWrong }: FieldProps) {
  const value = play[field.fact];
  const id = `fact-${field.fact}`;
  const shared = {
    id,
    disabled: !open,
    'aria-invalid': wrong ? ('true' as const) : undefined,
    'aria-describedby': wrong ? `${id}-wrong` : field.hint ? `${id}-hint` : undefined,
  };
  const read = (text: string) => {
    if (text.trim() === '' && field.fact !== 'spot') return onChange(undefined);
    try {
      onChange(field.control === 'fouls' ? foulsFromText(text) : numberFrom(field, text));
    } catch (error) {
      onWrong((error as Error).message);
    }
  };
  const isYardLine = (field.fact === 'spot' || field.fact === 'endSpot') && typeof value === 'number';
  return (
    <div class={`fact fact-${field.control}`}>
      <label for={id}>{field.label}</label>
      {field.control === 'choice' || field.control === 'yes-no' ? (
        <select
          {...shared}
          value={value === undefined ? '' : value === true ? 'yes' : value === false ? 'no' : String(value)}
          onChange={(event) => {
            const text = event.currentTarget.value;
            if (text === '') onChange(undefined);
            else onChange(field.control === 'yes-no' ? text === 'yes' : text);
          }}
        >
          {field.fact !== 'kind' && <option value="">–</option>}
          {(field.control === 'yes-no' ? ['yes', 'no'] : (field.options ?? [])).map((option) => (
            <option key={option} value={option}>
              {option}
            </option>
          ))}
        </select>
      ) : (
        <KeptText
          {...shared}
          inputMode={field.control === 'number' ? 'numeric' : undefined}
          text={textOf(field, value)}
          onText={read}
        />
      )}
      {isYardLine && !wrong ? (
        <small id={`${id}-hint`}>{yardLineInWords(value)}</small>
      ) : (
        field.hint && !wrong && <small id={`${id}-hint`}>{field.hint}</small>
      )}
      {wrong && (
        <span class="wrong" id={`${id}-wrong`}>
          {wrong}
        </span>
      )}
    </div>
  );
}

function textOf(field: PlayField, value: unknown): string {
  if (value === undefined) return '';
  if (field.control === 'clock') return clockText(value as number);
  if (field.control === 'fouls') return foulsToText(value as NonNullable<Play['fouls']>);
  return String(value);
}
