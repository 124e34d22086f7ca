import { type GameTeams, yardLineOf, yardsFrom } from '../../football/game-teams.ts';
import type { Fact, Play } from '../../football/play.ts';
import { clockText, numberFrom, type PlayField } from '../entry/play-fields.ts';
import { KeptText } from './kept-text.tsx';

const yardLines: readonly Fact[] = ['spot', 'endSpot', 'kickTo', 'looseBallSpot'];

interface Props {
  field: PlayField;
  play: Play;
  teams: GameTeams;
  open: boolean;
  wrong: string | undefined;
  onChange(value: unknown): void;
  onWrong(message: string | undefined): void;
}

/** One fact by itself: chosen from a list, or typed. A yard line is typed as people say it. */
export function FactField({ field, play, teams, open, wrong, onChange, onWrong }: Props) {
  const value = play[field.fact];
  const id = `fact-${field.fact}`;
  const isYardLine = yardLines.includes(field.fact);
  const hint = isYardLine ? `such as ${yardLineOf(27, play.offense, teams)}` : field.hint;
  const shared = {
    id,
    disabled: !open,
    'aria-invalid': wrong ? ('true' as const) : undefined,
    'aria-describedby': wrong ? `${id}-wrong` : hint ? `${id}-hint` : undefined,
  };
  const read = (text: string) => {
    if (text.trim() === '' && field.fact !== 'spot') return onChange(undefined);
    try {
      onChange(isYardLine ? yardsFrom(text, play.offense, teams) : numberFrom(field, text));
    } catch (error) {
      onWrong((error as Error).message);
    }
  };
  const text = isYardLine
    ? typeof value === 'number'
      ? yardLineOf(value, play.offense, teams)
      : ''
    : textOf(field, value);
  return (
    <div class={`fact fact-${isYardLine ? 'yard-line' : field.control}`}>
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
          inputMode={field.control === 'number' && !isYardLine ? 'numeric' : undefined}
          text={text}
          onText={read}
        />
      )}
      {hint && !wrong && <small id={`${id}-hint`}>{hint}</small>}
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
  return String(value);
}
