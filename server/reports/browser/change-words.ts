import { findingInWords } from '../../duties/consequence.ts';
import { type Watched, watchedInWords } from '../../duties/watched.ts';
import type { Play } from '../../football/play.ts';
import { downInWords, kindInWords, resultInWords } from '../../football/play-in-words.ts';
import type { Change } from '../entry/changes.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { playFields } from '../entry/play-fields.ts';

export const playLabel = (state: EntryState, playId: unknown) => {
  const play = state.plays.find((other) => other.playId === playId);
  return play ? `play ${play.number}` : 'a removed play';
};

export const dutyTitle = (state: EntryState, key: unknown) =>
  state.duties.find((duty) => duty.key === key)?.title ?? String(key);

export function playText(play: Play, other?: Play): string {
  const differing = playFields
    .filter((field) => JSON.stringify(play[field.fact]) !== JSON.stringify(other?.[field.fact]))
    .map((field) =>
      `${field.label.toLowerCase()} ${JSON.stringify(play[field.fact]) ?? 'open'}`.replaceAll('"', ''),
    );
  const base = [kindInWords(play), downInWords(play), resultInWords(play)].filter(Boolean).join(', ');
  return other && differing.length > 0 ? `${base} (${differing.join('; ')})` : base;
}

export function crewText(state: EntryState, crew: unknown): string {
  const names = new Map(state.officials.map((official) => [official.personId, official.name]));
  return (crew as { position: string; personId: string }[])
    .map((member) => `${member.position} ${names.get(member.personId) ?? ''}`)
    .join(', ');
}

export function watchedText(state: EntryState, watched: Watched | null): string {
  if (watched === null) return 'not said';
  return watchedInWords(
    watched,
    state.crew.map((member) => member.position),
    (playId) => state.plays.find((play) => play.playId === playId)?.number,
  );
}

/** What a change would do, in words. */
export function changeInWords(state: EntryState, change: Change): string {
  switch (change.kind) {
    case 'put mark':
      return `${findingInWords(change.finding, change.consequence)}, ${dutyTitle(state, change.dutyKey)}, ${change.position}, ${playLabel(state, change.playId)}${change.comment ? `: “${change.comment}”` : ''}`;
    case 'put play':
      return `${playLabel(state, change.playId)}: ${playText(change.play)}`;
    case 'remove mark':
      return 'a mark removed';
    case 'remove play':
      return `${playLabel(state, change.playId)} removed`;
    case 'confirm crew':
      return `the working crew: ${crewText(state, change.crew)}`;
    case 'general comment':
      return `the general comment: “${change.comment}”`;
    case 'watched':
      return `whom you watched: ${watchedText(state, change.watched)}`;
    case 'resolve':
      return 'a choice between two versions';
  }
}
