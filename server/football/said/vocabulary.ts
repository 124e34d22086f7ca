import type { Foul } from '../fouls.ts';
import type { Play, PlayKind } from '../play.ts';
import { type Position, positions } from '../positions.ts';
import { usualFouls } from '../usual-fouls.ts';

/** What the number or the yard line that follows a word tells. */
export type Asks =
  | 'loss'
  | 'depth of the catch'
  | 'depth of the release'
  | 'return'
  | 'yards from the sideline'
  | 'quarter'
  | 'down'
  | 'player'
  | 'spot'
  | 'end spot'
  | 'start spot'
  | 'loose spot'
  | 'catch spot';

/** What a word means. `says` is what the line then shows. */
export interface Meaning {
  readonly says: string;
  /** The first is the word in full; the others are other words for it. Any beginning that is unique will do. */
  readonly words: readonly string[];
  readonly does:
    | { readonly kind: PlayKind; readonly more?: Partial<Play>; readonly tryBy?: Play['tryBy'] }
    | { readonly facts: Partial<Play> }
    | { readonly side: 'left' | 'right' | 'middle' | 'head linesman side' | 'line judge side' }
    | { readonly foul: Pick<Foul, 'foul' | 'by'>; readonly noSnap?: true }
    | { readonly outcome: NonNullable<Foul['outcome']> }
    | { readonly moment: NonNullable<Foul['moment']> }
    | { readonly team: 'offense' | 'defense' }
    | { readonly midfield: 'own' | "opponent's" }
    | { readonly position: Position }
    | { readonly official: 'endedBy' | 'ruledBy' | 'reportedBy' | 'clockStoppedBy' }
    | { readonly lane: 'motion' | 'strongSide' | 'snapSide' | 'endSide' | 'motionFrom' }
    | {
        readonly act:
          | 'out'
          | 'in'
          | 'touchdown'
          | 'good'
          | 'no good'
          | 'question'
          | 'short'
          | 'recovered'
          | 'lost'
          | 'time-out'
          | 'nothing else'
          | 'goal'
          | 'reached'
          | 'no gain'
          | 'another foul'
          | 'nothing';
      };
  readonly asks?: Asks;
  /** Of several words with one beginning, those said most on these kinds of play are taken first. */
  readonly usualOn?: readonly PlayKind[] | 'any';
  /** On other kinds of play it cannot be meant. */
  readonly only?: readonly PlayKind[];
}

const kicks: readonly PlayKind[] = ['punt', 'free kick', 'place kick', 'try'];
const returnable: readonly PlayKind[] = ['punt', 'free kick'];
const carried: readonly PlayKind[] = ['run', 'pass', 'try'];

const word = (words: string, says: string, does: Meaning['does'], more: Partial<Meaning> = {}): Meaning => ({
  words: words.split('|'),
  says,
  does,
  ...more,
});
const any = { usualOn: 'any' } as const;
const fact = (words: string, says: string, facts: Partial<Play>, more: Partial<Meaning> = {}) =>
  word(words, says, { facts }, more);

const kindsOfPlay: readonly Meaning[] = [
  word('run|rush', 'run', { kind: 'run', tryBy: 'run' }, any),
  word('draw', 'run, a draw', { kind: 'run', tryBy: 'run' }),
  word('quarterback run|qb|sneak|keeper', 'run of the quarterback', {
    kind: 'run',
    tryBy: 'run',
    more: { carrier: 'quarterback' },
  }),
  word('pass|p|throw|thrown', 'pass', { kind: 'pass', tryBy: 'pass' }, any),
  word('quick pass|quick', 'quick pass', { kind: 'pass', tryBy: 'pass', more: { quickPass: true } }, any),
  word(
    'scramble',
    'scramble',
    { kind: 'pass', tryBy: 'pass', more: { passResult: 'scramble' } },
    { usualOn: ['pass'] },
  ),
  word(
    'sack|sacked',
    'sack',
    { kind: 'pass', tryBy: 'pass', more: { passResult: 'sack' } },
    { asks: 'loss', usualOn: 'any' },
  ),
  word('spike|spiked', 'spike', {
    kind: 'pass',
    more: { snapFor: 'spike', passResult: 'incomplete', hurryUp: true },
  }),
  word('kneel|kneel-down|knee', 'kneel-down', {
    kind: 'run',
    more: { snapFor: 'kneel', carrier: 'quarterback', playSide: 'middle' },
  }),
  word('punt', 'punt', { kind: 'punt' }, any),
  word('kickoff|kick off|free kick', 'free kick', { kind: 'free kick' }, any),
  word('kick', 'kick', { kind: 'free kick', tryBy: 'kick' }, any),
  word(
    'onside kick|onside',
    'onside kick',
    { kind: 'free kick', more: { onside: true } },
    { usualOn: ['free kick'] },
  ),
  word('field goal|fg|place kick', 'place kick', { kind: 'place kick' }, any),
  word('try', 'try', { kind: 'try' }),
  word('extra point|xp|pat', 'try by kick', { kind: 'try', more: { tryBy: 'kick' } }),
  word('two points|two|two-point', 'try for two', { kind: 'try' }),
  word('no snap', 'no snap', { kind: 'no snap' }),
];

const sidesOfTheField: readonly Meaning[] = [
  word('left|l', 'left', { side: 'left' }, any),
  word('right|r', 'right', { side: 'right' }, any),
  word('middle|m|center|up the middle', 'middle', { side: 'middle' }, any),
  word("head linesman's side|head linesman side|hl|linesman", "head linesman's side", {
    side: 'head linesman side',
  }),
  word("line judge's side|line judge side|lj", "line judge's side", { side: 'line judge side' }),
  word('motion', 'motion', { lane: 'motion' }),
  word('no motion', 'no motion', { facts: { motion: 'none' } }),
  word('strong|trips', 'more receivers', { lane: 'strongSide' }),
  word('balanced', 'as many receivers on both sides', { facts: { strongSide: 'middle' } }),
  word('hash|placed', 'ball placed', { lane: 'snapSide' }),
  word('dead|ended|tackled', 'dead', { lane: 'endSide' }, { asks: 'end spot' }),
];

const passes: readonly Meaning[] = [
  fact('complete|completed', 'complete', { passResult: 'complete' }, { only: ['pass', 'try'], ...any }),
  fact(
    'caught|catch|c',
    'caught',
    { passResult: 'complete' },
    { asks: 'depth of the catch', only: ['pass', 'try', 'run'], ...any },
  ),
  fact(
    'incomplete|inc|dropped|i',
    'incomplete',
    { passResult: 'incomplete' },
    { only: ['pass', 'try', 'run'], asks: 'depth of the catch', ...any },
  ),
  fact(
    'thrown away|away',
    'thrown away, incomplete',
    { passResult: 'incomplete' },
    { only: ['pass', 'try', 'run'] },
  ),
  fact(
    'intercepted|interception|int',
    'intercepted',
    { passResult: 'intercepted' },
    { asks: 'catch spot', only: ['pass', 'try', 'run'], ...any },
  ),
  fact('deep', 'comes down', {}, { asks: 'depth of the catch', only: ['pass', 'try', 'run'] }),
  fact('released|release|foot', "passer's foot", {}, { asks: 'depth of the release', only: ['pass', 'try'] }),
  fact(
    'pressure|pressured|under pressure',
    'passer under pressure',
    { pressure: true },
    { only: ['pass', 'try'], usualOn: ['pass'] },
  ),
  fact('no pressure', 'no pressure', { pressure: false }, { only: ['pass', 'try'] }),
  fact('not quick', 'not a quick pass', { quickPass: false }, { only: ['pass', 'try'] }),
  fact('backward pass|backward|lateral', 'backward pass', { backwardPass: true }, { only: carried }),
  fact('other runner|another runner', 'not the quarterback', { carrier: 'other' }, { only: ['run', 'try'] }),
];

const kickWords: readonly Meaning[] = [
  fact('returned|return|ret', 'returned', {}, { asks: 'return', ...any }),
  fact('caught|catch|c', 'caught', {}, { asks: 'spot', only: returnable }),
  fact('fair catch|fair|fc', 'fair catch', { kickResult: 'fair catch' }, { only: returnable, ...any }),
  fact('touchback|tb', 'touchback', { kickResult: 'touchback' }, { only: kicks, usualOn: returnable }),
  fact('downed|down', 'downed', { kickResult: 'downed' }, { asks: 'end spot', only: returnable, ...any }),
  fact(
    'blocked',
    'blocked',
    { kickResult: 'blocked', looseBall: 'blocked kick' },
    { asks: 'loose spot', only: kicks, usualOn: kicks },
  ),
  fact(
    'first touching|touched first',
    'first touching by the kicking team',
    { firstTouching: true },
    { asks: 'spot', only: returnable },
  ),
  fact('signal|fair-catch signal', 'fair-catch signal', { fairCatchSignal: true }, { only: returnable }),
  fact('momentum', 'carried into the end zone by momentum', { momentum: true }),
  fact('crossed', 'crossed the neutral zone', { kickCrossed: true }, { only: kicks }),
  fact(
    'did not cross|not crossed',
    'did not cross the neutral zone',
    { kickCrossed: false },
    { only: kicks },
  ),
];

const looseBalls: readonly Meaning[] = [
  fact('fumble|fumbled', 'fumble', { looseBall: 'fumble' }, { asks: 'loose spot', ...any }),
  fact('muff|muffed', 'muff', { looseBall: 'muff' }, { asks: 'loose spot', ...any }),
  word('recovered|recovery|rec', 'recovered', { act: 'recovered' }, { asks: 'end spot', ...any }),
  word('lost', 'lost', { act: 'lost' }),
  fact('pile|piled', 'pile', { pile: true }, any),
  fact('no pile', 'no pile', { pile: false }),
];

const endings: readonly Meaning[] = [
  word('out of bounds|out|o', 'out of bounds', { act: 'out' }, any),
  word('in bounds|inbounds|in', 'in bounds', { act: 'in' }),
  word('touchdown|td', 'touchdown', { act: 'touchdown' }, any),
  fact('safety', 'safety', { score: 'safety', endSpot: 0 }),
  word('good', 'good', { act: 'good' }, { usualOn: kicks }),
  word('no good|wide|missed', 'no good', { act: 'no good' }, { only: ['place kick', 'try'] }),
  fact('loss|minus', 'loss', {}, { asks: 'loss' }),
  word('no gain|ng', 'no gain', { act: 'no gain' }),
  word('short', 'short of the line', { act: 'short' }, { usualOn: ['run', 'pass', 'try'] }),
  word('first down|reached', 'line to gain reached', { act: 'reached' }),
  fact('on downs|turnover on downs', 'lost on downs', { turnover: 'downs' }),
  fact('measured|measure|chains', 'measured', { measured: true, lineToGainInQuestion: true }),
  fact('line to gain', 'line to gain in question', { lineToGainInQuestion: true }),
  word('in question|question|close', 'in question', { act: 'question' }),
  fact('driven back|driven|progress', 'driven back', { drivenBack: true }),
  fact('from the sideline|sideline', 'from the sideline', {}, { asks: 'yards from the sideline' }),
  fact('no score', 'no score', { score: 'none' }),
  fact('rulings differed|differed|conference', 'rulings differed', { rulingsDiffered: true }),
  fact('inadvertent whistle|inadvertent', 'inadvertent whistle', { inadvertentWhistle: true }),
  fact('confirmed', 'review: confirmed', { replay: 'confirmed' }),
  fact('stands', 'review: stands', { replay: 'stands' }),
  fact('overturned', 'review: overturned', { replay: 'overturned' }),
  fact('no review', 'no review', { replay: 'none' }),
];

const around: readonly Meaning[] = [
  fact('hurry-up|hurry|no huddle', 'hurry-up', { hurryUp: true }),
  fact('shift|shifted', 'shift', { shift: true }),
  fact('no shift', 'no shift', { shift: false }),
  fact('substituted|substitution', 'offense substituted', { offenseSubstituted: true }),
  fact('helmet off|helmet', 'helmet off', { helmetOff: true }),
  fact('injury|injured|hurt', 'injury', { injury: true }),
  fact('confrontation|scuffle', 'confrontation', { confrontation: true }),
  fact('coach disputes|disputes|dispute|coach', 'coach disputes', { coachDispute: true }),
  fact('disqualified|ejected|ejection', 'disqualified', { ejection: true }),
  fact('ten-second runoff|runoff', 'ten-second runoff', { tenSecondRunoff: true }),
  fact('clock runs|running|runs|winds', 'clock runs on', { clockAfter: 'running' }),
  fact('clock stops|stopped', 'clock stopped', { clockAfter: 'stopped' }),
  fact('on the ready|ready', 'clock starts on the ready', { clockStartsOn: 'ready' }),
  fact('on the snap|snap', 'clock starts on the snap', { clockStartsOn: 'snap' }),
  word('time-out|timeout', 'time-out', { act: 'time-out' }, any),
  fact("official's time-out|official time-out|official", "official's time-out", { timeout: 'official' }),
  fact('no time-out|no timeout', 'no time-out', { timeout: 'none' }),
  fact('no flag|no flags|no foul|clean', 'no foul', { fouls: [] }, any),
  word('nothing else|nothing', 'nothing else happened', { act: 'nothing else' }, any),
  word('by', 'by', { official: 'reportedBy' }),
  word('whistle|whistled', 'play ended by', { official: 'endedBy' }),
  word('ruled by|ruled', 'ruled by', { official: 'ruledBy' }),
  word('clock stopped by|stopped by', 'clock stopped by', { official: 'clockStoppedBy' }),
  word('offense|off', 'offense', { team: 'offense' }, any),
  word('defense|def', 'defense', { team: 'defense' }, any),
  word('own', 'own', { midfield: 'own' }),
  word("opponent's|opponent|opp|their", "opponent's", { midfield: "opponent's" }),
  word('goal', 'goal to go', { act: 'goal' }),
  word('at', 'at', { act: 'nothing' }, { asks: 'spot' }),
  word('to', 'to', { act: 'nothing' }, { asks: 'spot' }),
  word('from|on|snapped at', 'from', { act: 'nothing' }, { asks: 'start spot' }),
  word('quarter', 'quarter', { act: 'nothing' }, { asks: 'quarter' }),
  word('player|number', 'player', { act: 'nothing' }, { asks: 'player' }),
  word('a', '', { act: 'nothing' }),
  word('and', '', { act: 'nothing' }),
  word('the', '', { act: 'nothing' }),
  word('of', '', { act: 'nothing' }),
  word('for', '', { act: 'nothing' }),
  word('with', '', { act: 'nothing' }),
  word('yards|yard|yds', '', { act: 'nothing' }),
];

/** Other words for the usual fouls, and some that are called less. Common practice, no source. */
const otherNames: Readonly<Record<string, string>> = {
  holding: 'offensive holding',
  'defensive pass interference': 'pass interference|dpi|interference',
  'offensive pass interference': 'opi',
  'intentional grounding': 'grounding',
  'unnecessary roughness': 'roughness',
  facemask: 'face mask',
  'block in the back': 'back block',
  'illegal block below the waist': 'low block|below the waist',
  'ineligible receiver downfield': 'downfield|ineligible downfield',
  'illegal formation': 'formation',
  'illegal motion': 'motion foul',
  'delay of game': 'delay',
  'unsportsmanlike conduct': 'unsportsmanlike|taunting',
};
const rarer: readonly Pick<Foul, 'foul' | 'by'>[] = [
  { foul: 'late hit', by: 'defense' },
  { foul: 'roughing the holder', by: 'defense' },
  { foul: 'illegal touching', by: 'offense' },
  { foul: 'clipping', by: 'offense' },
  { foul: 'tripping', by: 'offense' },
  { foul: 'illegal use of hands', by: 'defense' },
];
/** Of fouls that begin alike, the one that can be meant on a kind of play. */
const usualFor = (foul: string): Partial<Meaning> => {
  if (foul === 'holding') return any;
  if (foul === 'roughing the passer') return { usualOn: ['pass'] };
  if (foul === 'roughing the kicker') return { usualOn: ['punt'] };
  return foul === 'roughing the holder' ? { usualOn: ['place kick', 'try'] } : {};
};
const beforeTheSnap: readonly string[] = ['false start', 'delay of game', 'encroachment'];

const foulWords: readonly Meaning[] = [
  word('foul|flag', 'foul', { act: 'another foul' }, any),
  ...[...usualFouls, ...rarer].map(({ foul, by }) =>
    word(
      [foul, ...(otherNames[foul]?.split('|') ?? [])].join('|'),
      foul,
      { foul: { foul, by }, ...(beforeTheSnap.includes(foul) && { noSnap: true as const }) },
      usualFor(foul),
    ),
  ),
  word('accepted|acc', 'accepted', { outcome: 'accepted' }, any),
  word('declined|dec', 'declined', { outcome: 'declined' }, any),
  word('offsetting|offset', 'offsetting', { outcome: 'offsetting' }),
  word('picked up|waved off|waved', 'picked up', { outcome: 'picked up' }),
  word('live ball|live', 'live ball', { moment: 'live ball' }),
  word('dead ball', 'dead ball', { moment: 'dead ball' }),
  ...positions.map((position) => word(position, position, { position })),
];

/** Everything that can be said, in the order in which it is suggested. */
export const vocabulary: readonly Meaning[] = [
  ...kindsOfPlay,
  ...sidesOfTheField,
  ...endings,
  ...passes,
  ...kickWords,
  ...looseBalls,
  ...foulWords,
  ...around,
];
