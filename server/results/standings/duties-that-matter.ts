import type { Position } from '../../football/positions.ts';
import type { Grade } from '../../grading/game-grade.ts';
import { groupBy, groupsOf } from '../../grading/group-by.ts';
import { placeAt } from '../../patterns/baseline.ts';
import { enoughPeersToShow, fewestPeersShown } from '../../patterns/evidence.ts';
import { defaultPatternSettings } from '../../patterns/settings.ts';
import { type Interval, wilsonInterval } from '../../patterns/wilson-interval.ts';
import { onceForEach } from '../once-for-each.ts';
import type { DutyName } from '../patterns/pattern-counts.ts';
import type { CurrentPatterns } from '../patterns/season-patterns.ts';
import type { DutyTotal } from './duty-totals.ts';
import type { SeasonCount } from './season-counts.ts';

/** Whether more than chance speaks for what is said of a duty: that many comparisons and few games are allowed for. */
export const certainties = ['beyond chance', 'may be chance'] as const;
type Certainty = (typeof certainties)[number];

/** One duty of an official's season, as evaluation, letter and API tell of it. */
export interface DutyThatMatters {
  key: string;
  title: string;
  category: string;
  guidance: string;
  certainty: Certainty;
  /** Where it stands out most: "at the goal line", "only at the goal line"; null for the duty as a whole. */
  situation: string | null;
  opportunities: number;
  misses: number;
  /** Misses of opportunities, 0 to 1, with its interval. */
  missRate: number;
  interval: Interval;
  /** Miss rate of the others in the position; null where they are too few to be shown. */
  peersMissRate: number | null;
  /** Games with at least one miss. */
  gamesWithMisses: number;
  /** Points of 100 that the misses took off the grade. */
  pointsLost: number;
  weeks: { week: number; opportunities: number; misses: number }[];
}

/** What is known of one official in one position of a season. */
export interface OfficialsSeason {
  personId: string;
  position: Position;
  /** Their counts in the position. */
  own: readonly SeasonCount[];
  grade: Grade;
  patterns: Pick<CurrentPatterns, 'patterns' | 'strengths' | 'leftOut'>;
  duties: ReadonlyMap<string, DutyName>;
  /** Everybody's, in the position at least. */
  totals: readonly DutyTotal[];
}

/** So many are told to everybody: one can work on three things. */
const mostTold = 3;

/**
 * What an official should work on: the three duties that took most off their grade, costliest first, whether or not
 * chance may explain it, and after them whatever repeats beyond chance. Who missed fewer duties than three is told
 * where others in the position lose most: to keep it so.
 */
export function dutiesToWorkOn(season: OfficialsSeason): DutyThatMatters[] {
  const { grade, patterns } = season;
  if (grade.grade === null) return [];
  const found = new Map(
    patterns.patterns.filter((one) => isOf(one, season) && one.headline).map((one) => [one.duty, one]),
  );
  const missed = grade.contributions
    .filter(({ duty, pointsLost }, place) => pointsLost > 0 && (place < mostTold || found.has(duty)))
    .map((duty): DutyThatMatters => {
      const pattern = found.get(duty.duty);
      const cut = pattern?.situationCut ?? null;
      return {
        ...figures(season, duty),
        certainty: pattern ? 'beyond chance' : 'may be chance',
        situation: cut === null ? null : pattern!.onlyHere ? `only ${cut}` : `above all ${cut}`,
      };
    });
  return [...missed, ...whereOthersLose(season, mostTold - missed.length)];
}

/** Duties that the official never missed, those first at which others in the position would have lost most. */
function whereOthersLose(season: OfficialsSeason, most: number): DutyThatMatters[] {
  const { grade } = season;
  if (grade.grade === null || most <= 0) return [];
  const weighs = ({ weight, duty }: Beside) => weight * duty.opportunities;
  const lost = (one: Beside) => weighs(one) * (one.peers ?? 0);
  return grade.contributions
    .filter(({ opportunities, met }) => met === opportunities)
    .map((duty) => besidePeers(season, duty))
    .sort((a, b) => lost(b) - lost(a) || weighs(b) - weighs(a) || byKey(a, b))
    .slice(0, most)
    .map(({ duty }) => ({ ...figures(season, duty), certainty: 'may be chance' as const, situation: null }));
}

/** Fewer chances tell nothing of a duty that goes well. */
const fewestChances = 5;

/**
 * What goes well: duties done better than others beyond chance first, then those where the official lost least beside
 * what is usual in the position. At least one wherever anything was met.
 */
export function dutiesWentWell(season: OfficialsSeason): DutyThatMatters[] {
  const { grade, patterns } = season;
  if (grade.grade === null) return [];
  const toWorkOn = new Set(dutiesToWorkOn(season).map(({ key }) => key));
  const found = new Map(
    patterns.strengths
      .filter((one) => isOf(one, season))
      .reverse()
      .map((one) => [one.duty, one]),
  );
  const inOrder = [...new Set(patterns.strengths.map(({ duty }) => duty))];
  const strong = grade.contributions
    .filter(({ duty }) => found.has(duty))
    .sort((a, b) => inOrder.indexOf(a.duty) - inOrder.indexOf(b.duty))
    .map((duty) => ({
      ...figures(season, duty),
      certainty: 'beyond chance' as const,
      situation: found.get(duty.duty)!.situationCut,
    }));
  const others = grade.contributions
    .filter(({ duty, met }) => !found.has(duty) && !toWorkOn.has(duty) && met > 0)
    .map((duty) => besidePeers(season, duty));
  const told = ({ duty }: Beside): DutyThatMatters => ({
    ...figures(season, duty),
    certainty: 'may be chance',
    situation: null,
  });
  const spared = ({ weight, peers, duty, misses }: Beside) =>
    weight * ((peers ?? 0) * duty.opportunities - misses);
  const better = others
    .filter((one) => one.duty.opportunities >= fewestChances && spared(one) > 0)
    .sort((a, b) => spared(b) - spared(a) || byKey(a, b));
  const well = [...strong, ...better.slice(0, mostTold).map(told)].slice(0, mostTold);
  if (well.length > 0) return well;
  const missRate = ({ misses, duty }: Beside) => misses / duty.opportunities;
  const met = ({ weight, duty }: Beside) => weight * duty.met;
  return others
    .sort((a, b) => missRate(a) - missRate(b) || met(b) - met(a) || byKey(a, b))
    .slice(0, 1)
    .map(told);
}

/** A duty of the grade, with what orders it among others. */
interface Beside {
  duty: DutyOfGrade;
  misses: number;
  weight: number;
  /** As `DutyThatMatters.peersMissRate`. */
  peers: number | null;
}

const besidePeers = (season: OfficialsSeason, duty: DutyOfGrade): Beside => ({
  duty,
  misses: duty.opportunities - duty.met,
  weight: season.duties.get(duty.duty)?.weight ?? 1,
  peers: peersMissRate(season, duty.duty),
});

const byKey = (a: Beside, b: Beside) => (a.duty.duty < b.duty.duty ? -1 : 1);

const isOf = (one: { official: string; position: string }, { personId, position }: OfficialsSeason) =>
  one.official === personId && one.position === position;

type DutyOfGrade = {
  duty: string;
  category?: string;
  opportunities: number;
  met: number;
  pointsLost: number;
};

function figures(
  season: OfficialsSeason,
  duty: DutyOfGrade,
): Omit<DutyThatMatters, 'certainty' | 'situation'> {
  const { own, duties } = season;
  const named = duties.get(duty.duty);
  const rows = own.filter((row) => row.dutyKey === duty.duty && row.category === duty.category);
  const misses = duty.opportunities - duty.met;
  return {
    key: duty.duty,
    title: named?.title ?? duty.duty,
    category: named?.category ?? duty.category ?? '',
    guidance: named?.guidance.trim() ?? '',
    opportunities: duty.opportunities,
    misses,
    missRate: misses / duty.opportunities,
    interval: wilsonInterval(misses, duty.opportunities, defaultPatternSettings.confidence),
    peersMissRate: peersMissRate(season, duty.duty),
    gamesWithMisses: new Set(rows.filter(({ notMet }) => notMet > 0).map(({ gameId }) => gameId)).size,
    pointsLost: duty.pointsLost,
    weeks: groupsOf(rows, ({ week }) => String(week))
      .map((games) => ({
        week: games[0]!.week,
        opportunities: games.reduce((sum, game) => sum + game.opportunities - game.notCounted, 0),
        misses: games.reduce((sum, game) => sum + game.notMet, 0),
      }))
      .filter(({ opportunities }) => opportunities > 0),
  };
}

/**
 * The peers are those of the pattern where there is one; else all others but those found at the duty themselves. Null
 * where they are so few that it would tell of single ones.
 */
export function peersMissRate(
  {
    personId,
    position,
    patterns,
    totals,
  }: Pick<OfficialsSeason, 'personId' | 'position' | 'patterns' | 'totals'>,
  duty: string,
): number | null {
  const key = [personId, position, duty].join('\n');
  const pattern = wholeDuties(patterns.patterns).get(key) ?? wholeDuties(patterns.strengths).get(key);
  if (pattern) {
    const { events, opportunities } = pattern.peers;
    return opportunities > 0 && enoughPeersToShow(pattern) ? events / opportunities : null;
  }
  const leftOut = new Set(patterns.leftOut[placeAt('misses', duty, position)]);
  const peers = (totalsByPlace(totals).get([position, duty].join('\n')) ?? []).filter(
    (one) => one.personId !== personId && !leftOut.has(one.personId),
  );
  if (peers.length < fewestPeersShown) return null;
  const sum = (of: 'misses' | 'opportunities') => peers.reduce((total, one) => total + one[of], 0);
  return sum('misses') / sum('opportunities');
}

type Found = CurrentPatterns['patterns'][number] | CurrentPatterns['strengths'][number];

/** What was found of whole duties, by official, position and duty. */
const wholeDuties = onceForEach(
  (found: readonly Found[]) =>
    new Map(
      found
        .filter(({ situationCut }) => situationCut === null)
        .map((one) => [[one.official, one.position, one.duty].join('\n'), one]),
    ),
);

const totalsByPlace = onceForEach((totals: readonly DutyTotal[]) =>
  groupBy(totals, (one) => [one.position, one.dutyKey].join('\n')),
);
