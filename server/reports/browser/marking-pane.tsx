import { useEffect, useRef, useState } from 'preact/hooks';
import type { Duty } from '../../duties/duty.ts';
import { effectOf, type Finding } from '../../duties/finding.ts';
import type { Position } from '../../football/positions.ts';
import type { EntryMark, EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { dutyKeys, findingsFor, type Owed } from './marking.ts';

interface Props {
  state: EntryState;
  play: EntryPlay;
  owed: readonly Owed[];
  position: Position | undefined;
  dutyKey: string | undefined;
  open: boolean;
  keysOn: boolean;
  onPosition(position: Position): void;
  onDuty(key: string): void;
  onFinding(finding: Finding): void;
  onComment(finding: Finding, comment: string): void;
  onCommentDone(): void;
  onShow(mark: EntryMark): void;
  onRemove(mark: EntryMark): void;
}

/** Official, duty, finding: three choices to a mark. */
export function MarkingPane(props: Props) {
  const { state, play, owed, position } = props;
  const marks = state.marks.filter((mark) => mark.playId === play.playId);
  const official = owed.find((other) => other.position === position);
  if (owed.length === 0) {
    return (
      <div class="card">
        <h3>Who owed what</h3>
        <p>Nobody is entered as working this game. Open “Crew” and enter who worked.</p>
      </div>
    );
  }
  return (
    <div class="marking">
      <div class="card">
        <h3>Who owed what on this play</h3>
        <fieldset class="officials" data-arrows>
          <legend class="visually-hidden">Officials</legend>
          {owed.map((other) => {
            const count = marks.filter((mark) => mark.position === other.position).length;
            return (
              <button
                key={other.position}
                type="button"
                aria-pressed={other.position === position}
                onClick={() => props.onPosition(other.position)}
                title={other.name}
              >
                <span class="letter">{other.letter}</span>
                <span class="official-text">
                  <span>{other.position}</span>
                  <small>
                    {other.duties.length} owed{count > 0 ? `, ${count} marked` : ''}
                  </small>
                </span>
              </button>
            );
          })}
        </fieldset>
        {official ? (
          <Duties {...props} official={official} marks={marks} />
        ) : (
          <p class="soft">Touch only what was out of the ordinary. A duty without a mark counts as done.</p>
        )}
      </div>
      <MarkList {...props} marks={marks} />
    </div>
  );
}

function Duties(props: Props & { official: Owed; marks: readonly EntryMark[] }) {
  const { official, dutyKey, state, marks } = props;
  const listed = [...official.duties, ...official.added];
  const extra = listed.some((duty) => duty.key === dutyKey)
    ? undefined
    : state.duties.find((duty) => duty.key === dutyKey);
  const shown = extra ? [...listed, extra] : listed;
  const others = state.duties.filter((duty) => !shown.includes(duty));
  return (
    <div class="duties">
      <p class="soft">
        <strong>{official.name}</strong>, {official.position}:{' '}
        {official.duties.length === 0 ? 'the facts logged so far give no duty here.' : 'choose the duty.'}
      </p>
      <ol data-arrows>
        {shown.map((duty, at) => (
          <DutyRow
            key={duty.key}
            {...props}
            duty={duty}
            shortcut={duty === extra ? undefined : dutyKeys[at]}
            added={!official.duties.includes(duty)}
            mark={marks.find((mark) => mark.position === official.position && mark.dutyKey === duty.key)}
          />
        ))}
      </ol>
      {props.open && (
        <label class="fact other-duty">
          <span>Another duty, not given by the facts</span>
          <select
            value=""
            onChange={(event) => event.currentTarget.value && props.onDuty(event.currentTarget.value)}
          >
            <option value="">Choose …</option>
            {categoriesOf(others).map(([category, duties]) => (
              <optgroup key={category} label={category}>
                {duties.map((duty) => (
                  <option key={duty.key} value={duty.key}>
                    {duty.title}
                  </option>
                ))}
              </optgroup>
            ))}
          </select>
        </label>
      )}
    </div>
  );
}

function DutyRow(
  props: Props & {
    duty: Duty;
    shortcut: string | undefined;
    added: boolean;
    mark: EntryMark | undefined;
  },
) {
  const { duty, shortcut, added, mark, keysOn } = props;
  const chosen = props.dutyKey === duty.key;
  return (
    <li>
      <button type="button" class="duty" aria-expanded={chosen} onClick={() => props.onDuty(duty.key)}>
        {keysOn && shortcut && (
          <span class="key" aria-hidden="true">
            {shortcut}
          </span>
        )}
        <span class="duty-text">
          {duty.title} <small>{duty.category}</small>
        </span>
        {mark && <FindingTag finding={mark.finding} />}
      </button>
      {chosen && (
        <div class="finding-box">
          <p class="soft">
            Is expected to {duty.expected}.
            {added && ' The facts of this play did not give this duty; marking it makes the opportunity.'}
          </p>
          {props.open && (
            <fieldset class="findings">
              <legend class="visually-hidden">Finding</legend>
              {findingsFor(duty).map((finding, at) => (
                <button
                  key={finding}
                  type="button"
                  class="second"
                  aria-pressed={mark?.finding === finding}
                  onClick={() => props.onFinding(finding)}
                >
                  {keysOn && (
                    <span class="key" aria-hidden="true">
                      {at + 1}
                    </span>
                  )}
                  {finding}
                </button>
              ))}
            </fieldset>
          )}
          {mark && <Comment {...props} mark={mark} key={mark.markId} />}
        </div>
      )}
    </li>
  );
}

function Comment(props: Props & { mark: EntryMark }) {
  const { mark, onComment } = props;
  const [text, setText] = useState(mark.comment);
  const latest = useRef({ text, mark, onComment });
  latest.current = { text, mark, onComment };
  const timer = useRef<ReturnType<typeof setTimeout>>();
  const kept = useRef(mark.comment);

  const keepNow = () => {
    clearTimeout(timer.current);
    const { text: now, mark: on, onComment: send } = latest.current;
    if (now === kept.current) return;
    kept.current = now;
    send(on.finding, now);
  };
  // Whatever takes the field away, what was typed is kept first.
  useEffect(() => keepNow, []);
  // Changed elsewhere while nothing is being typed here.
  useEffect(() => {
    if (mark.comment === kept.current) return;
    if (latest.current.text === kept.current) setText(mark.comment);
    kept.current = mark.comment;
  }, [mark.comment]);

  const needed = effectOf(mark.finding) === 'not met';
  return (
    <div class="mark-comment">
      <label for="mark-comment">
        What happened <small>{needed ? '(needed to file)' : '(if you like)'} · Enter when done</small>
      </label>
      <textarea
        id="mark-comment"
        rows={2}
        maxLength={4000}
        value={text}
        disabled={!props.open}
        onInput={(event) => {
          setText(event.currentTarget.value);
          latest.current.text = event.currentTarget.value;
          clearTimeout(timer.current);
          timer.current = setTimeout(keepNow, 400);
        }}
        onBlur={keepNow}
        onKeyDown={(event) => {
          if (event.key !== 'Enter' || event.shiftKey || event.isComposing) return;
          event.preventDefault();
          keepNow();
          props.onCommentDone();
        }}
      />
      {props.open && (
        <button type="button" class="second small" onClick={() => props.onRemove(mark)}>
          Remove mark
        </button>
      )}
    </div>
  );
}

function MarkList(props: Props & { marks: readonly EntryMark[] }) {
  const { marks, state, owed } = props;
  const title = new Map(state.duties.map((duty) => [duty.key, duty.title]));
  const letter = new Map(owed.map((other) => [other.position, other.letter]));
  // The choices above have no place for such a mark, so it is taken away here.
  const cannotCount = (mark: EntryMark) =>
    !letter.has(mark.position)
      ? `nobody is entered as working as ${mark.position}`
      : title.has(mark.dutyKey)
        ? ''
        : 'the rubric no longer has its duty';
  return (
    <div class="card">
      <h3>Marks on this play</h3>
      {marks.length === 0 ? (
        <p class="soft">None yet.</p>
      ) : (
        <ul class="mark-list" data-arrows>
          {marks.map((mark) => (
            <li key={mark.markId}>
              <button type="button" onClick={() => props.onShow(mark)}>
                <span class="letter">{letter.get(mark.position) ?? '?'}</span>
                <span class="duty-text">
                  {title.get(mark.dutyKey) ?? mark.dutyKey}
                  <small>
                    {mark.comment || (effectOf(mark.finding) === 'not met' ? 'Comment to come' : '')}
                  </small>
                </span>
                <FindingTag finding={mark.finding} />
              </button>
              {props.open && cannotCount(mark) && (
                <p class="wrong">
                  This mark cannot count: {cannotCount(mark)}.{' '}
                  <button type="button" class="second small" onClick={() => props.onRemove(mark)}>
                    Remove mark
                  </button>
                </p>
              )}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

export function FindingTag({ finding }: { finding: Finding }) {
  const effect = effectOf(finding);
  const look = finding === 'model' ? 'good' : effect === 'not met' ? 'bad' : effect === 'met' ? 'good' : '';
  return <span class={`tag ${look}`}>{finding}</span>;
}

function categoriesOf(duties: readonly Duty[]): [string, Duty[]][] {
  const groups = new Map<string, Duty[]>();
  for (const duty of duties) groups.set(duty.category, [...(groups.get(duty.category) ?? []), duty]);
  return [...groups];
}
