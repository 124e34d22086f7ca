import { useMemo } from 'preact/hooks';
import { decidingQuestion } from '../../../duties/deciding-question.ts';
import type { Duty } from '../../../duties/duty.ts';
import { whyNotOwed } from '../../../duties/why-not-owed.ts';
import { factNames } from '../../../football/fact-words.ts';
import { crewAtWork } from '../../../games/working-crew.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';
import { goToFact } from '../entry-focus.ts';
import { type ByFacts, rubricOf } from '../marking.ts';
import { DecidingAnswers } from './deciding-answers.tsx';
import type { PaneProps } from './pane-props.ts';

interface Props extends PaneProps {
  duty: Duty;
  mark: EntryMark;
  byFacts: ByFacts;
}

/** What keeps a mark from counting, and what can be done about it on the spot; nothing when it will count. */
export function MarkStanding(props: Props) {
  if (!props.watched(props.mark.position)) {
    return (
      <p class="will-not-count">
        You have said that you do not watch the {props.mark.position} on this play. The mark is kept and
        shown, but it will not count.
      </p>
    );
  }
  if (props.byFacts === 'undecided') return <Undecided {...props} />;
  if (props.byFacts === 'not owed') return <NotOwed {...props} />;
  return null;
}

function Undecided(props: Props) {
  const { state, play, mark, duty, marking, open, way } = props;
  const crew = crewAtWork(state.crew);
  const question = useMemo(
    () => decidingQuestion(play.play, crew, rubricOf(state), { position: mark.position, dutyKey: duty.key }),
    [play.play, state.crew, state.duties, mark.position, duty.key],
  );
  if (!question) return null;
  const asks =
    open && (marking.asked === mark.markId || (way === 'later' && !marking.leftOpen.has(mark.markId)));
  if (asks) return <DecidingAnswers {...props} question={question} />;
  return (
    <div class="will-not-count">
      <p>
        Will not count so far: what is logged leaves open whether it was owed. It takes:{' '}
        {factNames[question.fact]}.
      </p>
      {open && (
        <button type="button" class="second small" onClick={() => marking.ask(mark)}>
          Decide it now
        </button>
      )}
    </div>
  );
}

function NotOwed({ state, play, mark, duty, open }: Props) {
  const found = useMemo(
    () =>
      whyNotOwed(play.play, crewAtWork(state.crew), rubricOf(state), {
        position: mark.position,
        dutyKey: duty.key,
      }),
    [play.play, state.crew, state.duties, mark.position, duty.key],
  );
  if (!found) return null;
  const [fact] = found.facts;
  return (
    <div class="will-not-count">
      <p>Not owed on this play. {found.why} The mark is kept and shown, but it will not count.</p>
      {open && fact && (
        <button type="button" class="second small" onClick={() => goToFact(fact)}>
          Look at the facts
        </button>
      )}
    </div>
  );
}
