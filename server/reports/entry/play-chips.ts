import type { Code } from '../../football/codes.ts';
import { impliedFacts } from '../../football/implied-facts.ts';
import { nothingElseHappened, nothingUnusual } from '../../football/nothing-unusual.ts';
import type { Fact, Play, PlayKind } from '../../football/play.ts';
import { lanes } from '../../football/sides.ts';
import { isOfKind, playFields } from './play-fields.ts';

// What an observer says of a play by touch. A chip takes for known exactly what is written on it, and is lit as long as
// the play says so; touched again, it is taken back.

export interface Chip {
  /** Its place in the row, the same on every play. */
  readonly key: string;
  readonly label: string;
  /** What else is written on it, smaller. */
  readonly detail?: string;
  readonly says: Partial<Play>;
  /** It also says that nothing else out of the ordinary happened. */
  readonly nothingElse?: true;
  /** Of the chips of one choice one is lit at a time. */
  readonly choice?: string;
}

export interface ChipRow {
  readonly key: 'what happened' | 'where it went' | 'how it ended' | 'what else happened';
  readonly title: string;
  readonly chips: readonly Chip[];
}

const laneNames = { 'head linesman side': 'Linesman', middle: 'Middle', 'line judge side': 'Line judge' };

const kinds = (...chips: Omit<Chip, 'choice'>[]): Chip[] =>
  chips.map((chip) => ({ ...chip, choice: 'kind' }));

const fromScrimmage = kinds(
  { key: 'run', label: 'Run', detail: 'back, receiver', says: { kind: 'run', carrier: 'other' } },
  { key: 'keeper', label: 'Run', detail: 'quarterback', says: { kind: 'run', carrier: 'quarterback' } },
  { key: 'caught', label: 'Pass', detail: 'caught', says: { kind: 'pass', passResult: 'complete' } },
  {
    key: 'incomplete',
    label: 'Pass',
    detail: 'incomplete',
    says: { kind: 'pass', passResult: 'incomplete' },
  },
  { key: 'sack', label: 'Sack', says: { kind: 'pass', passResult: 'sack' } },
  { key: 'scramble', label: 'Scramble', says: { kind: 'pass', passResult: 'scramble' } },
  {
    key: 'intercepted',
    label: 'Pass',
    detail: 'intercepted',
    says: { kind: 'pass', passResult: 'intercepted', turnover: 'interception' },
  },
  { key: 'punt', label: 'Punt', says: { kind: 'punt' } },
  { key: 'place kick', label: 'Field goal', detail: 'attempt', says: { kind: 'place kick' } },
  { key: 'kneel', label: 'Kneel-down', says: { kind: 'run', snapFor: 'kneel' } },
  {
    key: 'spike',
    label: 'Spike',
    says: { kind: 'pass', passResult: 'incomplete', snapFor: 'spike' },
  },
  { key: 'no snap', label: 'No snap', detail: 'whistle first', says: { kind: 'no snap' } },
);
const freeKicks = kinds(
  { key: 'kickoff', label: 'Kickoff', detail: 'deep', says: { kind: 'free kick', onside: false } },
  { key: 'onside', label: 'Kickoff', detail: 'onside', says: { kind: 'free kick', onside: true } },
);
const tries = kinds(
  { key: 'try kick', label: 'Try', detail: 'by kick', says: { kind: 'try', tryBy: 'kick' } },
  { key: 'try run', label: 'Try', detail: 'by run', says: { kind: 'try', tryBy: 'run' } },
  { key: 'try pass', label: 'Try', detail: 'by pass', says: { kind: 'try', tryBy: 'pass' } },
);

const kicked = ({ kind }: Play) => kind === 'punt' || kind === 'free kick' || kind === 'place kick';
const byKick = (play: Play) => play.kind === 'place kick' || (play.kind === 'try' && play.tryBy === 'kick');
const onlyForTheClock = ({ snapFor }: Play) => snapFor === 'kneel' || snapFor === 'spike';

/** Does somebody carry the ball to its end? Not known to be otherwise. */
function isCarried(play: Play): boolean {
  const { kind, passResult, kickResult, tryBy } = play;
  if (kind === 'pass') return passResult !== undefined && passResult !== 'incomplete';
  if (kicked(play)) return kickResult === 'returned' || kickResult === 'blocked';
  if (kind === 'try') return tryBy === 'run' || (tryBy === 'pass' && passResult === 'complete');
  return kind === 'run';
}

/** Does the other team have the ball at the end, as far as was said? */
const changesHands = (play: Play) =>
  (kicked(play) && play.kickResult !== undefined && play.onside !== true) ||
  (play.turnover !== undefined && play.turnover !== 'none');

/** The kinds of play to choose from: those that can come here, or all when the observer asks for them. */
function kindChips(play: Play, all: boolean): readonly Chip[] {
  if (all) return [...fromScrimmage, ...freeKicks, ...tries];
  if (play.kind === 'free kick') return freeKicks;
  return play.kind === 'try' ? tries : fromScrimmage;
}

/** The three rows and what else may have happened, each only with what makes sense with the rest. */
export function chipRows(play: Play, all = false): readonly ChipRow[] {
  return [
    { key: 'what happened', title: 'What happened', chips: kindChips(play, all) },
    { key: 'where it went', title: whereTitle(play), chips: whereChips(play) },
    { key: 'how it ended', title: 'How it ended', chips: endChips(play) },
    { key: 'what else happened', title: 'What else', chips: elseChips(play) },
  ];
}

function whereTitle(play: Play): string {
  if (kicked(play) || byKick(play)) return 'What became of the kick';
  return play.kind === 'pass' ? 'Thrown to' : 'Went to';
}

function whereChips(play: Play): Chip[] {
  const { kind } = play;
  if (onlyForTheClock(play) || kind === 'no snap') return [];
  if (byKick(play)) return placeKickChips(play);
  if (kicked(play)) {
    const became = kickChips(play);
    return play.kickResult === 'returned' ? [...became, ...sides('returned')] : became;
  }
  if (kind === 'try') return tryChips(play);
  if (kind === 'pass' && (play.passResult === 'sack' || play.passResult === undefined)) return [];
  return sides('went');
}

const sides = (how: 'went' | 'returned'): Chip[] =>
  lanes.map((lane) => ({
    key: `${how} ${lane}`,
    label: laneNames[lane],
    detail: how === 'returned' ? 'returned there' : lane === 'middle' ? 'of the field' : 'side',
    says: { playSide: lane },
    choice: 'playSide',
  }));

const kickResult = (key: string, label: string, says: Partial<Play>): Chip => ({
  key,
  label,
  says,
  choice: 'kickResult',
});

function kickChips({ kind, kickTo, kickSide }: Play): Chip[] {
  // Dead where it came down.
  const there: Partial<Play> = {
    ...(kickTo !== undefined && { endSpot: kickTo }),
    ...(kickSide !== undefined && { endSide: kickSide }),
  };
  return [
    kickResult('returned', 'Returned', { kickResult: 'returned' }),
    kickResult('fair catch', 'Fair catch', { kickResult: 'fair catch', ...there }),
    kickResult('touchback', 'Touchback', { kickResult: 'touchback' }),
    kickResult('downed', kind === 'free kick' ? 'Recovered' : 'Downed', { kickResult: 'downed' }),
    kickResult('out', 'Out of bounds', { kickResult: 'out of bounds', outOfBounds: true, ...there }),
    ...(kind === 'punt'
      ? [kickResult('blocked', 'Blocked', { kickResult: 'blocked', looseBall: 'blocked kick' })]
      : []),
  ];
}

function placeKickChips({ kind }: Play): Chip[] {
  return [
    kickResult('good', 'Good', { kickResult: 'good', score: kind === 'try' ? 'try good' : 'field goal' }),
    kickResult('no good', 'No good', { kickResult: 'no good', score: 'none' }),
    kickResult('blocked', 'Blocked', { kickResult: 'blocked', looseBall: 'blocked kick' }),
  ];
}

function tryChips(play: Play): Chip[] {
  const passes: Chip[] =
    play.tryBy === 'pass'
      ? [
          { key: 'caught', label: 'Caught', says: { passResult: 'complete' }, choice: 'passResult' },
          {
            key: 'incomplete',
            label: 'Incomplete',
            says: { passResult: 'incomplete' },
            choice: 'passResult',
          },
        ]
      : [];
  return play.tryBy === undefined ? [] : [...passes, ...sides('went')];
}

/** The chip that is there on every play. */
const nothingElse: Chip = {
  key: 'nothing else',
  label: 'Nothing else happened',
  says: {},
  nothingElse: true,
};

/** How it ended: each chip also says that nothing else happened but what was said already. */
function endChips(play: Play): Chip[] {
  const end = (key: string, label: string, says: Partial<Play>): Chip => ({
    key,
    label,
    detail: 'nothing else',
    says,
    nothingElse: true,
    choice: 'end',
  });
  if (!isCarried(play)) return [nothingElse];
  if (play.kind === 'try') {
    return [
      end('try good', 'Good', { score: 'try good', endSpot: 100 }),
      end('try no good', 'Stopped, no score', { score: 'none' }),
      nothingElse,
    ];
  }
  const other = changesHands(play);
  return [
    end('in bounds', 'In bounds', { outOfBounds: false }),
    end('out of bounds', 'Out of bounds', { outOfBounds: true }),
    end('touchdown', 'Touchdown', { score: 'touchdown', endSpot: other ? 0 : 100, outOfBounds: false }),
    ...(play.spot <= 20 || other ? [end('safety', 'Safety', { score: 'safety' })] : []),
    nothingElse,
  ];
}

function elseChips(play: Play): Chip[] {
  const { kind } = play;
  const also = (key: string, label: string, says: Partial<Play>): Chip => ({ key, label, says });
  const putInPlay = kind !== 'no snap';
  const passing = kind === 'pass' || (kind === 'try' && play.tryBy === 'pass');
  const snapped = putInPlay && kind !== 'free kick';
  const loose = play.looseBall !== undefined && play.looseBall !== 'none';
  const [own, other] = kicked(play) ? ['Kickers', 'Receivers'] : ['Offense', 'Defense'];
  return [
    ...(kicked(play) ? [also('muff', 'Muff', { looseBall: 'muff' })] : []),
    ...(putInPlay ? [also('fumble', 'Fumble', { looseBall: 'fumble' })] : []),
    ...(loose
      ? [
          { ...also('own recovered', `${own} recovered`, { recoveredBy: 'offense' }), choice: 'recovered' },
          {
            ...also('other recovered', `${other} recovered`, {
              recoveredBy: 'defense',
              ...(!kicked(play) && { turnover: 'fumble' }),
            }),
            choice: 'recovered',
          },
        ]
      : []),
    ...(putInPlay ? [also('pile', 'Pile', { pile: true })] : []),
    ...(passing
      ? [
          also('catch', 'Catch in question', { catchInQuestion: true }),
          also('pressure', 'Under pressure', { pressure: true }),
          also('quick', 'Quick pass', { quickPass: true }),
        ]
      : []),
    ...(kind === 'run' || kind === 'pass' ? [also('backward', 'Backward pass', { backwardPass: true })] : []),
    ...(snapped && kind !== 'try'
      ? [
          also('line to gain', 'Line to gain in question', { lineToGainInQuestion: true }),
          also('measured', 'Measured', { measured: true }),
        ]
      : []),
    {
      ...also('time-out offense', 'Time-out, offense', { timeout: 'team', timeoutBy: 'offense' }),
      choice: 'timeout',
    },
    {
      ...also('time-out defense', 'Time-out, defense', { timeout: 'team', timeoutBy: 'defense' }),
      choice: 'timeout',
    },
    { ...also('time-out official', 'Official’s time-out', { timeout: 'official' }), choice: 'timeout' },
    also('helmet', 'Helmet off', { helmetOff: true }),
    also('injury', 'Injury', { injury: true }),
  ];
}

const same = (a: unknown, b: unknown): boolean =>
  a === b || (Array.isArray(a) && Array.isArray(b) && JSON.stringify(a) === JSON.stringify(b));

const factsOf = (says: Partial<Play>) => Object.keys(says) as Fact[];

/** Does the play say all that is written on the chip? */
export function isSaid(chip: Chip, play: Play, code: Code): boolean {
  return holds(chip, play) && (!chip.nothingElse || nothingIsOpen(play, code));
}

const holds = ({ says }: Chip, play: Play) => factsOf(says).every((fact) => same(says[fact], play[fact]));

/** Would "nothing else happened" tell nothing new? */
const nothingIsOpen = (play: Play, code: Code) =>
  factsOf(nothingElseHappened(play, code)).every((fact) => play[fact] !== undefined);

/** The chips that are lit: of several of one choice that are all said, the one that says most. */
export function litIn(row: ChipRow, play: Play, code: Code): ReadonlySet<Chip> {
  const said = row.chips.filter((chip) => isSaid(chip, play, code));
  const most = (choice: string | undefined) =>
    Math.max(...said.filter((chip) => chip.choice === choice).map(({ says }) => factsOf(says).length));
  return new Set(
    said.filter(({ choice, says }) => choice === undefined || factsOf(says).length === most(choice)),
  );
}

/** The play once this chip of a row was touched. */
export function touched(chip: Chip, row: ChipRow, play: Play, code: Code): Play {
  const lit = litIn(row, play, code);
  let next: Partial<Play> = { ...play };
  for (const other of row.chips) {
    const rival = chip.choice !== undefined && other.choice === chip.choice && holds(other, play);
    if (!rival && !(other === chip && lit.has(chip))) continue;
    if (lit.has(other) && other.nothingElse) next = withoutNothingElse(next as Play, code);
    for (const fact of factsOf(other.says)) if (fact !== 'kind') delete next[fact];
  }
  if (lit.has(chip)) return next as Play;
  const said = ofItsKind({ ...next, ...chip.says } as Play, play.kind);
  return chip.nothingElse ? nothingElseHappened(said, code) : said;
}

/** With all open again that "nothing else" had said, and what followed from it. */
function withoutNothingElse(play: Play, code: Code): Partial<Play> {
  const bare: Partial<Play> = { ...play };
  const usual = nothingUnusual(play.kind);
  for (const fact of factsOf(usual)) if (same(usual[fact], play[fact])) delete bare[fact];
  for (const fact of factsOf(impliedFacts(bareOf(play, followsFromOthers), code)))
    if (followsFromOthers.includes(fact)) delete bare[fact];
  return bare;
}

/** What is said by nobody as a rule, because it follows. */
const followsFromOthers: readonly Fact[] = [
  'yardsFromSideline',
  'clockAfter',
  'clockStoppedFor',
  'clockStartsOn',
  'fairCatchSignal',
  'kickTouchedBy',
  'kickCrossed',
];

function bareOf(play: Play, facts: readonly Fact[]): Play {
  const bare: Partial<Play> = { ...play };
  for (const fact of facts) delete bare[fact];
  return bare as Play;
}

/** Without what this kind of play does not have; undo brings it back. */
export function ofItsKind(play: Play, before: PlayKind): Play {
  if (play.kind === before) return play;
  const next: Partial<Play> = { ...play };
  for (const field of playFields) if (!isOfKind(field, play.kind)) delete next[field.fact];
  return next as Play;
}
