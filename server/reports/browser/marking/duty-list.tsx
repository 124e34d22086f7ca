import type { Duty } from '../../../duties/duty.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';
import { byFactsOf, dutyKeys, type Owed } from '../marking.ts';
import { DutyRow } from './duty-row.tsx';
import type { PaneProps } from './pane-props.ts';
import { numbered } from './use-marking.ts';

/** What one official owed, may have owed, and owes once a game. One touch of a duty marks it. */
export function DutyList(props: PaneProps & { official: Owed; marks: readonly EntryMark[] }) {
  const { official, state, marks, marking } = props;
  const listed = numbered(official);
  const known = [...listed, ...official.ofTheGame];
  const extra = known.some((duty) => duty.key === marking.dutyKey)
    ? undefined
    : state.duties.find((duty) => duty.key === marking.dutyKey);
  const markOf = (duty: Duty) =>
    marks.find((mark) => mark.position === official.position && mark.dutyKey === duty.key);
  const row = (duty: Duty, more: Partial<Parameters<typeof DutyRow>[0]> = {}) => (
    <DutyRow
      key={duty.key}
      {...props}
      duty={duty}
      shortcut={listed.includes(duty) ? dutyKeys[listed.indexOf(duty)] : undefined}
      mark={markOf(duty)}
      byFacts={byFactsOf(official, duty.key)}
      {...more}
    />
  );
  const given = [...official.duties, ...official.added, ...(extra ? [extra] : [])];
  return (
    <div class="duties">
      <p class="soft">
        <strong>{official.name}</strong>, {official.position}:{' '}
        {official.duties.length === 0 ? 'the facts logged so far give no duty here.' : orderInWords(props)}
      </p>
      <ol data-arrows>{given.map((duty) => row(duty))}</ol>
      {official.undecided.length > 0 && (
        <details open={official.undecided.some((duty) => duty.key === marking.dutyKey)}>
          <summary>
            Undecided <span class="soft">({official.undecided.length})</span>
          </summary>
          <p class="soft">More would have to be logged to know whether these were owed.</p>
          <ol data-arrows>{official.undecided.map((duty) => row(duty))}</ol>
        </details>
      )}
      {official.ofTheGame.length > 0 && (
        <details open={official.ofTheGame.some((duty) => duty.key === marking.dutyKey)}>
          <summary>Over the whole game</summary>
          <p class="soft">
            Each counts once, whatever play you mark it on. Of several marks the graver one counts.
          </p>
          <ol data-arrows>
            {official.ofTheGame.map((duty) =>
              row(duty, {
                elsewhere: state.marks.some(
                  (mark) =>
                    mark.playId !== props.play.playId &&
                    mark.position === official.position &&
                    mark.dutyKey === duty.key,
                ),
              }),
            )}
          </ol>
        </details>
      )}
      {props.open && (
        <OtherDuty
          duties={state.duties.filter((duty) => !known.includes(duty))}
          onDuty={marking.chooseDuty}
        />
      )}
    </div>
  );
}

function orderInWords({ open, state, official }: PaneProps & { official: Owed }): string {
  const counted = state.missedBefore?.some(({ position }) => position === official.position);
  const order = counted
    ? 'most often missed this season first'
    : 'the weightiest first, as nothing is counted of this season yet';
  return open ? `one touch marks a duty as missed. In order: ${order}.` : `${order}.`;
}

function OtherDuty({ duties, onDuty }: { duties: readonly Duty[]; onDuty(key: string): void }) {
  return (
    <label class="fact other-duty">
      <span>Another duty, not given by the facts</span>
      <select
        value=""
        onChange={(event) => {
          const { value } = event.currentTarget;
          event.currentTarget.value = '';
          if (value) onDuty(value);
        }}
      >
        <option value="">Choose …</option>
        {categoriesOf(duties).map(([category, some]) => (
          <optgroup key={category} label={category}>
            {some.map((duty) => (
              <option key={duty.key} value={duty.key}>
                {duty.title}
              </option>
            ))}
          </optgroup>
        ))}
      </select>
    </label>
  );
}

function categoriesOf(duties: readonly Duty[]): [string, Duty[]][] {
  const groups = new Map<string, Duty[]>();
  for (const duty of duties) groups.set(duty.category, [...(groups.get(duty.category) ?? []), duty]);
  return [...groups];
}
