import {
  consequenceInWords,
  consequences,
  findingInWords,
  mayHaveConsequence,
} from '../../../duties/consequence.ts';
import type { Duty } from '../../../duties/duty.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';
import { type ByFacts, consequenceKey, findingsFor } from '../marking.ts';
import { FindingTag } from './finding-tag.tsx';
import { MarkComment } from './mark-comment.tsx';
import { MarkStanding } from './mark-standing.tsx';
import type { PaneProps } from './pane-props.ts';

interface Props extends PaneProps {
  duty: Duty;
  shortcut: string | undefined;
  mark: EntryMark | undefined;
  /** What the facts logged so far say. */
  byFacts: ByFacts;
  /** Marked on another play already: a duty of the whole game. */
  elsewhere?: boolean;
}

/** One duty: touched, it is marked; opened beside, it can be read, and marked otherwise. */
export function DutyRow(props: Props) {
  const { duty, shortcut, mark, keysOn, marking, open } = props;
  const chosen = marking.dutyKey === duty.key;
  return (
    <li>
      <div class="duty-row">
        <button
          type="button"
          class="duty"
          data-duty={duty.key}
          aria-expanded={chosen}
          onClick={() => (open || mark ? marking.chooseDuty(duty.key) : marking.lookAt(duty.key))}
        >
          {keysOn && shortcut && (
            <span class="key" aria-hidden="true">
              {shortcut}
            </span>
          )}
          <span class="duty-text">
            {duty.title} <small>{props.elsewhere ? 'marked on another play' : duty.category}</small>
          </span>
          {mark && <FindingTag mark={mark} />}
        </button>
        {!mark && (
          <button
            type="button"
            class="duty-look"
            aria-expanded={chosen}
            aria-label={`Read without marking: ${duty.title}`}
            title="Read without marking"
            onClick={() => marking.lookAt(duty.key)}
          >
            …
          </button>
        )}
      </div>
      {chosen && (
        <div class="finding-box">
          <p class="soft">Is expected to {duty.expected}.</p>
          {mark && <MarkStanding {...props} mark={mark} />}
          {open && <Findings {...props} />}
          {mark && mayHaveConsequence(mark.finding) && open && <Cost {...props} mark={mark} />}
          {mark && (
            <MarkComment
              key={mark.markId}
              mark={mark}
              open={open}
              onComment={marking.comment}
              onDone={marking.commentDone}
              onRemove={marking.remove}
            />
          )}
        </div>
      )}
    </li>
  );
}

function Findings({ duty, mark, keysOn, marking }: Props) {
  return (
    <fieldset class="findings">
      <legend class="visually-hidden">Finding</legend>
      {findingsFor(duty).map((finding, at) => (
        <button
          key={finding}
          type="button"
          class="second"
          aria-pressed={mark?.finding === finding}
          onClick={() => marking.find(finding)}
        >
          {keysOn && (
            <span class="key" aria-hidden="true">
              {at + 1}
            </span>
          )}
          {findingInWords(finding)}
        </button>
      ))}
    </fieldset>
  );
}

/** What a wrong or missed call cost: touched again, it is not judged any more. */
function Cost({ mark, keysOn, marking }: Props & { mark: EntryMark }) {
  return (
    <fieldset class="costs">
      <legend>
        What it cost <small>(if you can tell; it weighs in the grade)</small>
      </legend>
      {consequences.map((consequence) => (
        <button
          key={consequence}
          type="button"
          class="second"
          aria-pressed={mark.consequence === consequence}
          onClick={() => marking.judgeCost(mark, mark.consequence === consequence ? null : consequence)}
        >
          {keysOn && (
            <span class="key" aria-hidden="true">
              {consequenceKey(consequence)}
            </span>
          )}
          {consequenceInWords[consequence]}
        </button>
      ))}
    </fieldset>
  );
}
