import { useMemo, useState } from 'preact/hooks';
import { factsByWorth, undecidedCount } from '../../duties/fact-worth.ts';
import type { CompiledRubric, CrewAtWork } from '../../duties/opportunities.ts';
import { factNames } from '../../football/fact-words.ts';
import type { Fact, Play } from '../../football/play.ts';
import { positionLetter, positions } from '../../football/positions.ts';
import { type PlayField, playFields } from '../entry/play-fields.ts';

interface Props {
  play: Play;
  crew: CrewAtWork;
  rubric: CompiledRubric;
  open: boolean;
  onAnswer(fact: Fact, value: unknown): void;
  /** To where a fact is entered that one touch cannot say. */
  onGoTo(fact: Fact): void;
}

/** As many are asked at once; the next ones follow. */
const askedAtOnce = 3;

/** What the facts of the play leave undecided, and the facts that would decide most of it, each one touch away. */
export function UndecidedLine({ play, crew, rubric, open, onAnswer, onGoTo }: Props) {
  const [all, showAll] = useState(false);
  const worth = useMemo(() => factsByWorth(play, crew, rubric), [play, crew, rubric]);
  const undecided = useMemo(() => undecidedCount(play, crew, rubric), [play, crew, rubric]);
  if (worth.length === 0) {
    return (
      <p class="undecided" role="status">
        Nothing is left to decide on this play.
      </p>
    );
  }
  const asked = all ? worth : worth.slice(0, askedAtOnce);
  return (
    <section class="undecided" aria-label="Undecided">
      <p role="status">
        <strong>
          {countOf(worth.length, 'more fact')} would decide {countOf(undecided, 'duty', 'duties')}.
        </strong>
      </p>
      {open &&
        asked.map(({ fact, asks }) => (
          <Question key={fact} fact={fact} asks={asks} crew={crew} onAnswer={onAnswer} onGoTo={onGoTo} />
        ))}
      {open && worth.length > askedAtOnce && (
        <button type="button" class="link" aria-expanded={all} onClick={() => showAll(!all)}>
          {all ? 'Fewer' : `${worth.length - askedAtOnce} more`}
        </button>
      )}
    </section>
  );
}

interface QuestionProps {
  fact: Fact;
  asks: number;
  crew: CrewAtWork;
  onAnswer: Props['onAnswer'];
  onGoTo: Props['onGoTo'];
}

function Question({ fact, asks, crew, onAnswer, onGoTo }: QuestionProps) {
  const field = playFields.find((other) => other.fact === fact);
  const name = factNames[fact];
  return (
    <fieldset class="chips question" data-arrows>
      <legend>
        {name[0]!.toUpperCase() + name.slice(1)} <small>decides up to {asks}</small>
      </legend>
      {answersOf(field, crew).map(({ value, words, detail }) => (
        <button
          key={words}
          type="button"
          class="chip"
          aria-label={`${name}: ${detail ?? words}`}
          title={detail}
          onClick={() => onAnswer(fact, value)}
        >
          {words}
        </button>
      ))}
      {(field === undefined || oneTouch(field) === undefined) && (
        <button type="button" class="chip other" onClick={() => onGoTo(fact)}>
          Enter it<span class="visually-hidden">: {name}</span>
        </button>
      )}
    </fieldset>
  );
}

interface Answer {
  readonly value: unknown;
  readonly words: string;
  readonly detail?: string;
}

/** What can be said of a fact by one touch; undefined when it has to be entered. */
function oneTouch(field: PlayField): readonly Answer[] | undefined {
  if (field.control === 'yes-no') {
    return [
      { value: true, words: 'Yes' },
      { value: false, words: 'No' },
    ];
  }
  if (field.control === 'choice') return field.options?.map((value) => ({ value, words: value }));
  return undefined;
}

function answersOf(field: PlayField | undefined, crew: CrewAtWork): readonly Answer[] {
  if (field === undefined) return [];
  if (field.fact === 'fouls') return [{ value: [], words: 'No foul' }];
  if (field.fact === 'yardsFromSideline') {
    return [2, 4, 8, 12, 20].map((value) => ({ value, words: String(value), detail: `${value} yards` }));
  }
  if (field.options === positions) {
    return crew.present.map((value) => ({ value, words: positionLetter[value], detail: value }));
  }
  return oneTouch(field) ?? [];
}

const countOf = (count: number, one: string, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;
