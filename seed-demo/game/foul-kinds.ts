import type { Foul } from '../../server/football/fouls.ts';
import type { Play } from '../../server/football/play.ts';
import type { Position } from '../../server/football/positions.ts';
import type { Draws } from '../draws.ts';
import { whoIsThere, whoRulesThePass } from './officials.ts';

/** A kind of foul as the demo season uses it. Yardages are the college book's, from memory: check the current edition. */
export interface FoulKind {
  foul: string;
  by: Foul['by'];
  yards: number;
  automaticFirstDown?: boolean;
  lossOfDown?: boolean;
  disqualifies?: boolean;
  /** From where the penalty is enforced. `end of the run` falls back to the previous spot when nothing was gained. */
  from: 'previous spot' | 'end of the run' | 'spot of the foul' | 'succeeding spot';
  moment: NonNullable<Foul['moment']>;
  /** Who throws the flag. */
  reporter: (play: Play, draws: Draws) => Position | undefined;
  player: 'lineman' | 'back' | 'anybody' | 'coach';
  /** On which plays it comes up. */
  on: (play: Play) => boolean;
  /** How often, relative to the others. */
  share: number;
}

const anyOf =
  (...list: Position[]) =>
  (_play: Play, draws: Draws) =>
    draws.pick(list);
const box = anyOf('umpire', 'umpire', 'referee', 'center judge');
const wings = anyOf('head linesman', 'line judge');
const wingOrUmpire = anyOf('head linesman', 'line judge', 'umpire');
const always = () => true;
const thrown = (play: Play) =>
  play.kind === 'pass' && ['complete', 'incomplete', 'intercepted'].includes(play.passResult ?? '');
const thrownBeyond = (play: Play) => thrown(play) && (play.catchDepth ?? 0) > 2;
const carried = (play: Play) => play.kind === 'run' || play.passResult === 'complete';
const onPasser = (play: Play) => play.kind === 'pass' && play.passResult !== 'scramble';

const live = (
  foul: string,
  by: Foul['by'],
  yards: number,
  share: number,
  rest: Partial<FoulKind> = {},
): FoulKind => ({
  foul,
  by,
  yards,
  share,
  from: 'previous spot',
  moment: 'live ball',
  reporter: box,
  player: 'anybody',
  on: always,
  ...rest,
});
const personal = { automaticFirstDown: true, from: 'end of the run' } as const;

/** Fouls while a run or a pass is live. */
export const liveBallFouls: readonly FoulKind[] = [
  live('holding', 'offense', 10, 25, { player: 'lineman' }),
  live('block in the back', 'offense', 10, 3, { reporter: whoIsThere, on: carried }),
  live('block below the waist', 'offense', 15, 1.5, { reporter: wingOrUmpire }),
  live('illegal formation', 'offense', 5, 4, { reporter: wings, player: 'lineman' }),
  live('illegal shift', 'offense', 5, 2, { reporter: wings, on: (play) => play.shift === true }),
  live('illegal motion', 'offense', 5, 2, { reporter: wings, on: (play) => play.motion !== 'none' }),
  live('offensive pass interference', 'offense', 15, 4, {
    reporter: whoRulesThePass,
    player: 'back',
    on: thrownBeyond,
  }),
  live('ineligible receiver downfield', 'offense', 5, 3, {
    reporter: wingOrUmpire,
    player: 'lineman',
    on: thrownBeyond,
  }),
  live('intentional grounding', 'offense', 0, 9, {
    reporter: anyOf('referee'),
    player: 'back',
    lossOfDown: true,
    from: 'spot of the foul',
    on: (play) => play.passResult === 'incomplete' && play.pressure === true && (play.throwDepth ?? 0) < 0,
  }),
  live('illegal forward pass', 'offense', 5, 8, {
    reporter: anyOf('line judge', 'line judge', 'referee'),
    player: 'back',
    lossOfDown: true,
    from: 'spot of the foul',
    on: (play) => thrown(play) && (play.throwDepth ?? 0) > 0,
  }),
  live('offside', 'defense', 5, 10, { reporter: wings, player: 'lineman' }),
  live('illegal substitution', 'defense', 5, 2, { reporter: wingOrUmpire }),
  live('defensive holding', 'defense', 10, 6, {
    reporter: anyOf('side judge', 'field judge', 'back judge', 'umpire'),
    automaticFirstDown: true,
    player: 'back',
    on: thrown,
  }),
  live('defensive pass interference', 'defense', 15, 11, {
    reporter: whoRulesThePass,
    automaticFirstDown: true,
    player: 'back',
    on: thrownBeyond,
  }),
  live('hands to the face', 'defense', 15, 2, { automaticFirstDown: true, player: 'lineman' }),
  live('facemask', 'defense', 15, 4.5, { ...personal, reporter: whoIsThere, on: carried }),
  live('horse collar', 'defense', 15, 2, { ...personal, reporter: whoIsThere, on: carried }),
  live('roughing the passer', 'defense', 15, 4, { ...personal, reporter: anyOf('referee'), on: onPasser }),
  live('targeting', 'defense', 15, 1.6, {
    ...personal,
    reporter: whoIsThere,
    disqualifies: true,
    player: 'back',
    on: carried,
  }),
  live('unnecessary roughness', 'defense', 15, 3.5, { ...personal, reporter: whoIsThere, on: carried }),
];

/** Fouls after the ball is dead, each enforced whatever else was called. */
export const foulsAfterThePlay: readonly FoulKind[] = [
  live('unsportsmanlike conduct', 'offense', 15, 3),
  live('unsportsmanlike conduct', 'defense', 15, 3),
  live('unnecessary roughness', 'offense', 15, 3, { reporter: whoIsThere }),
  live('unnecessary roughness', 'defense', 15, 5, { reporter: whoIsThere }),
  live('sideline interference', 'offense', 5, 0.7, { reporter: wings, player: 'coach' }),
  live('sideline warning', 'defense', 0, 0.7, { reporter: wings, player: 'coach' }),
  live('sideline warning', 'offense', 0, 0.7, { reporter: wings, player: 'coach' }),
].map((kind) => ({ ...kind, moment: 'dead ball', from: 'succeeding spot' }));

/** Fouls that keep the ball from being put in play. */
export const foulsBeforeTheSnap: readonly FoulKind[] = [
  live('false start', 'offense', 5, 10, {
    reporter: anyOf('umpire', 'head linesman', 'line judge', 'center judge'),
    player: 'lineman',
  }),
  live('delay of game', 'offense', 5, 3, { reporter: anyOf('back judge', 'back judge', 'referee') }),
  live('illegal substitution', 'offense', 5, 0.6, { reporter: anyOf('referee', 'umpire') }),
  live('encroachment', 'defense', 5, 2, { reporter: wings, player: 'lineman' }),
  live('offside', 'defense', 5, 1, { reporter: wings, player: 'lineman' }),
].map((kind) => ({ ...kind, moment: 'dead ball' }));

const numbers: Record<'lineman' | 'back' | 'anybody', readonly [number, number]> = {
  lineman: [50, 79],
  back: [1, 49],
  anybody: [1, 99],
};

/** Draws one of the kinds that come up on this play, with who did it and who threw the flag. */
export function drawFoul(
  kinds: readonly FoulKind[],
  play: Play,
  draws: Draws,
): { kind: FoulKind; foul: Foul } {
  const fitting = kinds.filter((kind) => kind.on(play));
  const at = draws.weighted(Object.fromEntries(fitting.map((kind, index) => [String(index), kind.share])));
  const kind = fitting[Number(at)] as FoulKind;
  const foul: Foul = {
    foul: kind.foul,
    by: kind.by,
    moment: kind.moment,
    player: kind.player === 'coach' ? 'coach' : String(draws.integer(...numbers[kind.player])),
  };
  // Where nobody in particular is near (an incomplete pass), the referee has it.
  foul.reportedBy = kind.reporter(play, draws) ?? 'referee';
  return { kind, foul };
}
