import { useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import {
  type Consequence,
  consequences,
  findingInWords,
  mayHaveConsequence,
} from '../../../duties/consequence.ts';
import type { Finding } from '../../../duties/finding.ts';
import type { Play } from '../../../football/play.ts';
import type { Position } from '../../../football/positions.ts';
import type { EntryMark, EntryPlay } from '../../entry/entry-snapshot.ts';
import type { EntryState } from '../../entry/entry-state.ts';
import type { EntrySession } from '../entry-session.ts';
import { consequenceKey, dutyKeys, findingsFor, type Owed, positionForKey } from '../marking.ts';
import { recordPlay } from '../record-play.ts';

interface Around {
  readonly session: EntrySession;
  readonly state: EntryState;
  /** The play in view. */
  readonly play: EntryPlay | undefined;
  readonly owed: readonly Owed[];
  readonly open: boolean;
  say(words: string): void;
  /** Focuses the first of these places that there is, once what was just changed is on the page. */
  focusOn(...selectors: string[]): void;
}

export type Marking = ReturnType<typeof useMarking>;

/** Which official and duty of the play in view are chosen, and what can be done there: an official, a duty, done. */
export function useMarking({ session, state, play, owed, open, say, focusOn }: Around) {
  const [position, setPosition] = useState<Position>();
  const [dutyKey, setDutyKey] = useState<string>();
  /** The mark whose deciding question was asked for by hand. */
  const [asked, setAsked] = useState<string>();
  /** Marks whose question was put off: they are asked no more on this page. */
  const [leftOpen, setLeftOpen] = useState<ReadonlySet<string>>(new Set());
  const official = owed.find((other) => other.position === position);

  const leave = () => {
    setPosition(undefined);
    setDutyKey(undefined);
  };
  const chooseOfficial = (chosen: Position) => {
    if (!owed.some((other) => other.position === chosen)) return;
    setPosition(chosen);
    setDutyKey(undefined);
    focusOn('.duties .duty', '.duties button');
  };
  const markOn = (key: string | undefined) =>
    state.marks.find(
      (other) => other.playId === play?.playId && other.position === position && other.dutyKey === key,
    );

  const put = (key: string, finding: Finding) => {
    if (!play || !position || !open) return;
    const there = markOn(key);
    if (there?.finding === finding) return;
    session.record(`${finding}, ${position}, play ${play.number}`, {
      kind: 'put mark',
      id: uuidv7(),
      basedOn: there?.changeId ?? null,
      markId: there?.markId ?? uuidv7(),
      playId: play.playId,
      position,
      dutyKey: key,
      finding,
      comment: there?.comment ?? '',
      consequence: mayHaveConsequence(finding) ? (there?.consequence ?? null) : null,
    });
    say(`${finding}: ${position}`);
  };

  /** Marks it with its likeliest finding. One that has a mark is opened; chosen again, its comment is next. */
  const chooseDuty = (key: string) => {
    const duty = state.duties.find((other) => other.key === key);
    if (!duty) return;
    const there = markOn(key);
    if (there && dutyKey === key) return focusOn('.mark-comment textarea');
    setDutyKey(key);
    if (there) return focusOn(rowOf(key));
    put(key, findingsFor(duty)[0]!);
    // Undecided, it asks its question: a number then is an answer.
    focusOn('.deciding [data-answer]', rowOf(key));
  };
  /** Opens a duty without marking it. */
  const lookAt = (key: string) => setDutyKey(dutyKey === key ? undefined : key);

  const find = (finding: Finding) => {
    if (!dutyKey) return;
    put(dutyKey, finding);
    focusOn(rowOf(dutyKey));
  };

  const ask = (mark: EntryMark) => {
    setAsked(mark.markId);
    focusOn('.deciding [data-answer]');
  };
  const leaveOpen = (mark: EntryMark) => {
    setAsked(undefined);
    setLeftOpen(new Set([...leftOpen, mark.markId]));
    say('Left open: the mark will not count so far');
    focusOn(rowOf(mark.dutyKey));
  };
  /** The deciding fact, said where the mark met it. */
  const decide = (mark: EntryMark, facts: Play, label: string) => {
    if (!play || !open) return;
    recordPlay(session, play, { play: facts }, label);
    focusOn('.deciding [data-answer]', rowOf(mark.dutyKey));
  };

  /** The mark once more, as it is by now: what was being typed beside it may just have been kept. */
  const putAgain = ({ markId }: EntryMark, part: Partial<EntryMark>, label: (mark: EntryMark) => string) => {
    const mark = session.state?.marks.find((other) => other.markId === markId);
    if (!mark || !open) return undefined;
    const { changeId, ...there } = mark;
    const words = label(mark);
    session.record(`${words}, ${there.position}`, {
      ...there,
      ...part,
      kind: 'put mark',
      id: uuidv7(),
      basedOn: changeId,
    });
    return words;
  };
  const judgeCost = (mark: EntryMark, consequence: Consequence | null) => {
    const words = putAgain(mark, { consequence }, ({ finding }) =>
      consequence ? findingInWords(finding, consequence) : `${finding}, cost not judged`,
    );
    if (words) say(`${words}: ${mark.position}`);
  };
  const comment = (mark: EntryMark, text: string) =>
    void putAgain(mark, { comment: text }, ({ finding }) => `comment on ${finding}`);
  const commentDone = () => {
    setDutyKey(undefined);
    focusOn('.officials [aria-pressed="true"]');
  };

  const remove = (mark: EntryMark) => {
    session.record('mark removed', {
      kind: 'remove mark',
      id: uuidv7(),
      basedOn: mark.changeId,
      markId: mark.markId,
    });
    setDutyKey(undefined);
    say('Mark removed');
    focusOn('.duties .duty', '#play-pane');
  };
  /** Opens a mark of the play in view, to be commented first. */
  const show = (mark: Pick<EntryMark, 'position' | 'dutyKey'>) => {
    setPosition(mark.position);
    setDutyKey(mark.dutyKey);
    focusOn('.mark-comment textarea', '.mark-list button', '#play-pane');
  };

  /** One step back; false when nothing is chosen. */
  const back = (): boolean => {
    if (dutyKey) {
      setDutyKey(undefined);
      focusOn(rowOf(dutyKey), '.duties .duty');
    } else if (position) {
      setPosition(undefined);
      focusOn('#play-pane');
    } else return false;
    return true;
  };

  /** The single-key shortcuts; true when the key meant something. */
  const actOnKey = (key: string, target: HTMLElement): boolean => {
    const answers = target.closest('.deciding')?.querySelectorAll<HTMLElement>('[data-answer]');
    const answer = key === '0' ? answers?.[answers.length - 1] : answers?.[Number(key) - 1];
    if (answer) {
      answer.click();
      return true;
    }
    if (official && dutyKey) {
      const duty = state.duties.find((other) => other.key === dutyKey);
      const finding = duty && findingsFor(duty)[Number(key) - 1];
      if (finding) {
        find(finding);
        return true;
      }
      const there = markOn(dutyKey);
      const consequence = consequences.find((one) => consequenceKey(one) === key);
      if (there && consequence && mayHaveConsequence(there.finding)) {
        judgeCost(there, there.consequence === consequence ? null : consequence);
        return true;
      }
    } else if (official) {
      const duty = numbered(official)[dutyKeys.indexOf(key)];
      if (duty) {
        chooseDuty(duty.key);
        return true;
      }
    }
    const chosen = positionForKey(key);
    if (chosen) chooseOfficial(chosen);
    return chosen !== undefined;
  };

  return {
    position,
    dutyKey,
    official,
    leave,
    chooseOfficial,
    chooseDuty,
    lookAt,
    find,
    asked,
    leftOpen,
    ask,
    leaveOpen,
    decide,
    judgeCost,
    comment,
    commentDone,
    remove,
    show,
    back,
    actOnKey,
  };
}

const rowOf = (dutyKey: string) => `.duties [data-duty="${dutyKey}"]`;

/** An official's duties as they are numbered: those owed, those marked all the same, those that are not decided. */
export const numbered = ({ duties, added, undecided }: Owed) => [...duties, ...added, ...undecided];
