import { useState } from 'preact/hooks';
import type { DecidingQuestion } from '../../../duties/deciding-question.ts';
import { factNames } from '../../../football/fact-words.ts';
import { playSchema } from '../../../football/play.ts';
import type { Truth } from '../../../football/three-valued.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';
import { numberFrom, type PlayField, playFields } from '../../entry/play-fields.ts';
import { goToFact } from '../entry-focus.ts';
import type { PaneProps } from './pane-props.ts';

interface Answer {
  readonly words: string;
  readonly value: unknown;
  readonly owed: Truth;
}

// Who marked a duty thinks that it was owed: what agrees comes first.
const first: Readonly<Record<string, number>> = { true: 0, unknown: 1, false: 2 };

/** One question with its answers; each takes one touch, or its number. */
export function DecidingAnswers(props: PaneProps & { mark: EntryMark; question: DecidingQuestion }) {
  const { play, mark, marking, keysOn, owed, question } = props;
  const { fact } = question;
  const field = playFields.find((other) => other.fact === fact)!;
  const [wrong, setWrong] = useState('');
  const answers = answersTo(
    field,
    owed.map(({ position }) => position),
    question,
  );
  const say = (value: unknown) => {
    const checked = playSchema.safeParse({ ...play.play, [fact]: value });
    if (checked.success) marking.decide(mark, checked.data, field.label.toLowerCase());
    else setWrong(checked.error.issues[0]!.message);
  };
  return (
    <fieldset class="deciding">
      <legend>
        Was it owed? That takes one more fact: <strong>{factNames[fact]}</strong>
      </legend>
      <div class="chips">
        {answers.map(({ words, value, owed }, at) => (
          <button key={words} type="button" class="chip" data-answer onClick={() => say(value)}>
            <span>
              {keysOn && at < 9 && (
                <span class="key" aria-hidden="true">
                  {at + 1}
                </span>
              )}{' '}
              {words}
            </span>
            <small>{owed === true ? 'then owed' : owed === false ? 'then not owed' : 'asks one more'}</small>
          </button>
        ))}
        {field.control === 'fouls' && (
          <button type="button" class="chip" data-answer onClick={() => goToFact('fouls')}>
            <span>a foul</span>
            <small>log it</small>
          </button>
        )}
        {(field.control === 'number' || field.control === 'clock') && (
          <TypedAnswer
            field={field}
            onText={(text) => {
              try {
                say(numberFrom(field, text));
              } catch (error) {
                setWrong((error as Error).message);
              }
            }}
          />
        )}
        <button type="button" class="chip other" data-answer onClick={() => marking.leaveOpen(mark)}>
          <span>
            {keysOn && (
              <span class="key" aria-hidden="true">
                0
              </span>
            )}{' '}
            Leave open
          </span>
          <small>will not count</small>
        </button>
      </div>
      {wrong && <p class="wrong">{wrong}</p>}
    </fieldset>
  );
}

function answersTo(field: PlayField, crew: readonly string[], { owedIf }: DecidingQuestion): Answer[] {
  const among = (words: string, value: unknown): Answer => ({ words, value, owed: owedIf(value) });
  const answers =
    field.control === 'yes-no'
      ? [among('yes', true), among('no', false)]
      : field.control === 'choice'
        ? optionsOf(field, crew).map((option) => among(option, option))
        : field.control === 'fouls'
          ? [among('no foul', [])]
          : [];
  return answers.sort((a, b) => first[String(a.owed)]! - first[String(b.owed)]!);
}

const byOfficial: readonly string[] = ['endedBy', 'ruledBy', 'clockStoppedBy'];
const optionsOf = ({ fact, options = [] }: PlayField, crew: readonly string[]) =>
  byOfficial.includes(fact) ? options.filter((option) => crew.includes(option)) : options;

function TypedAnswer({ field, onText }: { field: PlayField; onText(text: string): void }) {
  const [text, setText] = useState('');
  return (
    <form
      class="typed-answer"
      onSubmit={(event) => {
        event.preventDefault();
        onText(text);
      }}
    >
      <label>
        <span>{field.hint ?? field.label}</span>
        <input
          type="text"
          inputMode={field.control === 'number' ? 'numeric' : undefined}
          value={text}
          onInput={(event) => setText(event.currentTarget.value)}
        />
      </label>
      <button type="submit" class="second">
        Say so
      </button>
    </form>
  );
}
