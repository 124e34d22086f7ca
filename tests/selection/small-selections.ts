import { positionsOf } from '../../server/football/crews.ts';
import type { Position } from '../../server/football/positions.ts';
import {
  type GameToFill,
  type GradedIn,
  nothingKnown,
  type OfficialToSelect,
} from '../../server/selection/candidate.ts';
import type { Choice, CrewOfSeason, ProposalProblem } from '../../server/selection/proposal-problem.ts';
import { defaultRules, defaultWeights } from '../../server/selection/rules.ts';
import { seeded } from '../bench/planning-instances.ts';

const days = ['2031-12-06', '2031-12-13'];
const teams = ['t0', 't1', 't2', 't3'];

/** A random selection small enough to try every way of filling it, with every kind of rule in play. */
export function smallSelection(seed: number): ProposalProblem {
  const random = seeded(seed);
  const pick = (n: number) => Math.floor(random() * n);
  const maybe = (chance: number) => random() < chance;
  const one = <Item>(list: readonly Item[]) => list[pick(list.length)] as Item;
  const place = () => (maybe(0.1) ? null : { latitude: 36 + random() * 4, longitude: -90 + random() * 6 });
  const positions = positionsOf(4).slice(0, 2) as Position[];
  const games: GameToFill[] = Array.from({ length: 1 + pick(3) }, (_, n) => ({
    id: `g${n}`,
    playedOn: one(days),
    teams: [
      { id: one(teams), name: 'Home' },
      maybe(0.2) ? { id: null, name: 'Stranger' } : { id: one(teams), name: 'Visitor' },
    ],
    place: place(),
    positions,
    alternates: pick(3),
    wholeCrew: maybe(0.4),
  }));
  const officials: OfficialToSelect[] = Array.from({ length: 2 + pick(4) }, (_, n) => ({
    id: `o${n}`,
    active: maybe(0.95),
    facts: {
      ...nothingKnown,
      yearsOfService: maybe(0.15) ? null : pick(10),
      fitnessPassed: maybe(0.1) ? null : maybe(0.9),
      fitnessUntil: maybe(0.5) ? null : one(['2031-12-05', '2031-12-06', '2032-06-30']),
      rulesTestScore: maybe(0.1) ? null : 60 + pick(41),
      goodStanding: maybe(0.1) ? null : maybe(0.9),
      available: maybe(0.1) ? null : maybe(0.9),
      daysAway: maybe(0.15) ? [one(days)] : [],
      postseasonsLately: maybe(0.3) ? null : pick(3),
    },
    gamesHere: maybe(0.3) ? 1 : 0,
    home: place(),
    crewIds: [`c${n % 2}`],
    ties: maybe(0.15) ? [one(teams)] : [],
    workedTeam: new Map(
      teams.flatMap((team) => (maybe(0.3) ? [[team, one(['2031-10-01', '2031-11-15', '2031-11-29'])]] : [])),
    ),
    openInquiryOf: maybe(0.1) ? [one(teams)] : [],
    daysElsewhere: maybe(0.1) ? [one(days)] : [],
  }));
  const graded: GradedIn[] = officials.flatMap(({ id }) =>
    positions
      .filter(() => maybe(0.9))
      .map((position) => ({
        officialId: id,
        position,
        games: 1 + pick(6),
        grade: null,
        rank: maybe(0.9) ? rankFrom(1 + pick(6), pick(2), pick(3)) : null,
        unrankedReason: null,
        chance: maybe(0.8) ? random() : null,
        otherChance: maybe(0.7) ? random() : null,
      })),
  );
  const crews: CrewOfSeason[] = ['c0', 'c1'].map((id, at) => {
    const members = officials.filter((_, n) => n % 2 === at);
    return {
      id,
      name: id,
      members: new Map(
        positions.flatMap((position, n) =>
          members[n] ? [[position, members[n].id] as [Position, string]] : [],
        ),
      ),
    };
  });
  const fixed: Choice[] = [];
  for (const game of games) {
    const official = one(officials);
    const taken = fixed.some(
      (other) =>
        other.officialId === official.id &&
        games.find(({ id }) => id === other.gameId)?.playedOn === game.playedOn,
    );
    if (!maybe(0.2) || taken) continue;
    const position = one(positions);
    if (graded.some((row) => row.officialId === official.id && row.position === position))
      fixed.push({ gameId: game.id, slot: position, position, officialId: official.id });
  }
  return {
    ...{ games, officials, graded, crews, fixed },
    rules: {
      ...defaultRules,
      minimumGames: maybe(0.5) ? 2 : null,
      minimumYears: maybe(0.4) ? 3 : null,
      fitness: maybe(0.5),
      rulesTest: maybe(0.4) ? 75 : null,
      standing: maybe(0.6),
      availability: maybe(0.6),
      ties: maybe(0.8),
      recentWeeks: maybe(0.6) ? 1 + pick(4) : null,
      openInquiries: maybe(0.7),
      mostLately: maybe(0.3) ? 1 : null,
      mostGamesEach: 1 + pick(2),
      mostOfOneCrew: maybe(0.4) ? 1 : null,
      notKnown: maybe(0.5) ? 'take in' : 'leave out',
    },
    weights: { ...defaultWeights, travel: maybe(0.5) ? 0 : pick(5), rotation: pick(20), tier: pick(60) },
  };
}

const rankFrom = (place: number, before: number, after: number) => ({
  place,
  low: Math.max(1, place - before),
  high: place + after,
});
