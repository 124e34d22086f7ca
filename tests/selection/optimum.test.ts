// @module-tag long
import { expect, test } from 'vitest';
import type { ProposalProblem } from '../../server/selection/proposal-problem.ts';
import { propose } from '../../server/selection/propose.ts';
import { smallSelection } from './small-selections.ts';

// The program's proposal against every way there is, tried one by one, with the rules and the points written out a second
// time here. Distances are taken on a sphere of the mean radius of the earth (6371.0088 km, IUGG), which differs from the
// ellipsoid by less than 0.6 percent: where travel counts, points are compared with that much room.

interface Way {
  readonly gameId: string;
  readonly slot: string;
  readonly position: string;
  readonly officialId: string;
}

const sphereMiles = (
  a: { latitude: number; longitude: number },
  b: { latitude: number; longitude: number },
) => {
  const rad = Math.PI / 180;
  const h =
    Math.sin(((b.latitude - a.latitude) * rad) / 2) ** 2 +
    Math.cos(a.latitude * rad) *
      Math.cos(b.latitude * rad) *
      Math.sin(((b.longitude - a.longitude) * rad) / 2) ** 2;
  return (2 * 6371.0088 * Math.asin(Math.sqrt(h))) / 1.609344;
};

function tierOf(problem: ProposalProblem, position: string, officialId: string): number {
  const ranks = problem.graded.flatMap((row) =>
    row.position === position && row.rank ? [{ id: row.officialId, ...row.rank }] : [],
  );
  // A cut lies after rank r where no interval reaches from r or before to beyond it.
  const own = ranks.find(({ id }) => id === officialId);
  if (!own) return 1;
  let tier = 1;
  const last = Math.max(...ranks.map(({ high }) => high));
  for (let r = 1; r < last; r += 1) {
    const above = ranks.filter(({ low }) => low <= r);
    const isCut = above.length > 0 && above.every(({ high }) => high <= r);
    const begins = ranks.some(({ low }) => low === r + 1);
    if (isCut && begins && own.low > r) tier += 1;
    else if (isCut && !begins && own.low > r) {
      // Ranks that nobody's interval holds lie between: one cut, not several.
      const next = Math.min(...ranks.filter(({ low }) => low > r).map(({ low }) => low));
      tier += 1;
      r = next - 1;
    }
  }
  return tier;
}

function allowed(problem: ProposalProblem, { gameId, position, officialId }: Way): boolean {
  const { rules } = problem;
  const game = problem.games.find(({ id }) => id === gameId)!;
  const official = problem.officials.find(({ id }) => id === officialId)!;
  const graded = problem.graded.find((row) => row.officialId === officialId && row.position === position);
  if (!graded?.rank) return false;
  const { facts } = official;
  const unknown = rules.notKnown === 'take in';
  if (rules.minimumGames !== null && graded.games < rules.minimumGames) return false;
  if (rules.minimumYears !== null) {
    if (facts.yearsOfService === null ? !unknown : facts.yearsOfService < rules.minimumYears) return false;
  }
  if (rules.fitness) {
    if (facts.fitnessPassed === null && !unknown) return false;
    if (facts.fitnessPassed === false) return false;
    if (facts.fitnessPassed && facts.fitnessUntil !== null && facts.fitnessUntil < game.playedOn)
      return false;
  }
  if (rules.rulesTest !== null) {
    if (facts.rulesTestScore === null ? !unknown : facts.rulesTestScore < rules.rulesTest) return false;
  }
  if (rules.standing && (facts.goodStanding === null ? !unknown : !facts.goodStanding)) return false;
  if (rules.availability) {
    if (!official.active || facts.daysAway.includes(game.playedOn)) return false;
    if (facts.available === null ? !unknown : !facts.available) return false;
  }
  if (rules.mostLately !== null) {
    const lately = Math.max(facts.postseasonsLately ?? -1, official.gamesHere > 0 ? official.gamesHere : -1);
    if (lately === -1 ? !unknown : lately > rules.mostLately) return false;
  }
  for (const team of game.teams) {
    if (team.id === null) continue;
    if (rules.ties && official.ties.includes(team.id)) return false;
    if (rules.openInquiries && official.openInquiryOf.includes(team.id)) return false;
    const worked = official.workedTeam.get(team.id);
    if (rules.recentWeeks !== null && worked !== undefined) {
      const between = (Date.parse(game.playedOn) - Date.parse(worked)) / 86_400_000;
      if (between >= 0 && between <= 7 * rules.recentWeeks) return false;
    }
  }
  return !official.daysElsewhere.includes(game.playedOn);
}

function points(problem: ProposalProblem, { gameId, position, officialId }: Way): number {
  const { weights } = problem;
  const game = problem.games.find(({ id }) => id === gameId)!;
  const official = problem.officials.find(({ id }) => id === officialId)!;
  const graded = problem.graded.find((row) => row.officialId === officialId && row.position === position)!;
  const { chance, otherChance } = graded;
  let mean = 0;
  if (chance !== null && otherChance !== null) mean = (chance + otherChance) / 2;
  else if (chance !== null) mean = chance;
  else if (otherChance !== null) mean = otherChance;
  const lately = Math.max(official.facts.postseasonsLately ?? 0, official.gamesHere);
  const miles = official.home && game.place ? sphereMiles(official.home, game.place) : 0;
  return (
    weights.chance * (1 - mean) +
    weights.tier * (tierOf(problem, position, officialId) - 1) +
    weights.rotation * lately +
    (weights.travel * miles) / 100
  );
}

/** Whether all of these can be together with what is fixed. */
function together(problem: ProposalProblem, fixed: readonly Way[], ways: readonly Way[]): boolean {
  const { rules } = problem;
  const dayOf = (gameId: string) => problem.games.find(({ id }) => id === gameId)!.playedOn;
  for (const way of ways) {
    const all = [...fixed, ...ways].filter((other) => other !== way);
    if (all.some((other) => other.officialId === way.officialId && dayOf(other.gameId) === dayOf(way.gameId)))
      return false;
    const games = all.filter((other) => other.officialId === way.officialId).length + 1;
    if (games > rules.mostGamesEach) return false;
    const game = problem.games.find(({ id }) => id === way.gameId)!;
    if (rules.mostOfOneCrew !== null && !game.wholeCrew) {
      const crewOf = (id: string) => problem.officials.find((official) => official.id === id)!.crewIds[0];
      const crew = all.filter(
        (other) => other.gameId === way.gameId && crewOf(other.officialId) === crewOf(way.officialId),
      );
      if (crew.length + 1 > rules.mostOfOneCrew) return false;
    }
  }
  return true;
}

/** The best way to fill the positions: as many as can be, at the fewest points. */
function bestPositions(problem: ProposalProblem) {
  const places = problem.games.flatMap((game) =>
    game.positions
      .filter((slot) => !problem.fixed.some((one) => one.gameId === game.id && one.slot === slot))
      .map((slot) => ({ game, slot })),
  );
  let best = { filled: -1, points: Infinity };
  const ways: Way[] = [];
  const wholeHolds = () =>
    problem.games
      .filter(({ wholeCrew }) => wholeCrew)
      .every((game) => {
        const here = ways.filter(({ gameId }) => gameId === game.id);
        if (here.length === 0) return true;
        const all = [
          ...here,
          ...problem.fixed.filter(({ gameId, slot }) => gameId === game.id && !slot.startsWith('alternate')),
        ];
        return (
          all.length === game.positions.length &&
          problem.crews.some(({ members }) =>
            all.every(({ position, officialId }) => members.get(position as never) === officialId),
          )
        );
      });
  const go = (at: number, sum: number) => {
    if (at === places.length) {
      const better = ways.length > best.filled || (ways.length === best.filled && sum < best.points - 1e-12);
      if (better && wholeHolds()) best = { filled: ways.length, points: sum };
      return;
    }
    const { game, slot } = places[at]!;
    for (const { id } of problem.officials) {
      const way = { gameId: game.id, slot, position: slot, officialId: id };
      if (!allowed(problem, way)) continue;
      ways.push(way);
      if (together(problem, problem.fixed, ways)) go(at + 1, sum + points(problem, way));
      ways.pop();
    }
    go(at + 1, sum);
  };
  go(0, 0);
  return best;
}

/** The best alternates beside what is settled. */
function bestAlternates(problem: ProposalProblem, settled: readonly Way[]) {
  const options = problem.games.flatMap((game) =>
    problem.officials.flatMap(({ id }) =>
      game.positions.map((position) => ({ gameId: game.id, slot: 'alternate', position, officialId: id })),
    ),
  );
  const possible = options.filter((way) => allowed(problem, way));
  let best = { filled: 0, points: 0 };
  const ways: Way[] = [];
  const go = (at: number, sum: number) => {
    if (ways.length > best.filled || (ways.length === best.filled && sum < best.points - 1e-12))
      best = { filled: ways.length, points: sum };
    for (let next = at; next < possible.length; next += 1) {
      const way = possible[next]!;
      const here = ways.filter(({ gameId }) => gameId === way.gameId);
      const room = problem.games.find(({ id }) => id === way.gameId)!.alternates;
      if (here.length >= room || here.some(({ position }) => position === way.position)) continue;
      ways.push(way);
      if (together(problem, settled, ways)) go(next + 1, sum + points(problem, way));
      ways.pop();
    }
  };
  go(0, 0);
  return best;
}

test('a proposal fills as many places as can be filled, at the fewest points, as trying every way does', async () => {
  const seen = { filled: 0, empty: 0, whole: 0, fixed: 0, alternates: 0, held: 0 };
  for (let seed = 1; seed <= 320; seed += 1) {
    const problem = smallSelection(seed);
    const proposal = await propose(problem);
    const isAlternate = ({ slot }: { slot: string }) => slot.startsWith('alternate');
    const inPositions = proposal.choices.filter((one) => !isAlternate(one));
    const alternates = proposal.choices.filter(isAlternate);
    const sum = (list: readonly { cost: { total: number } }[]) =>
      list.reduce((all, { cost }) => all + cost.total, 0);
    const room = problem.weights.travel === 0 ? 1e-6 : 0.3;
    expect(proposal.best).toBe(true);

    for (const choice of proposal.choices) {
      expect(allowed(problem, choice), `seed ${seed}`).toBe(true);
      expect(Math.abs(choice.cost.total - points(problem, choice))).toBeLessThan(room);
    }
    expect(together(problem, problem.fixed, proposal.choices), `seed ${seed}`).toBe(true);

    const best = bestPositions(problem);
    expect(inPositions.length, `seed ${seed}`).toBe(best.filled);
    expect(Math.abs(sum(inPositions) - best.points), `seed ${seed}`).toBeLessThan(room);
    const beside = bestAlternates(problem, [...problem.fixed, ...inPositions]);
    expect(alternates.length, `seed ${seed}`).toBe(beside.filled);
    expect(Math.abs(sum(alternates) - beside.points), `seed ${seed}`).toBeLessThan(room);

    seen.filled += inPositions.length;
    seen.empty += proposal.unfilled.length;
    seen.alternates += alternates.length;
    seen.fixed += problem.fixed.length;
    seen.whole += inPositions.filter(
      ({ gameId }) => problem.games.find(({ id }) => id === gameId)?.wholeCrew,
    ).length;
    seen.held += problem.rules.mostOfOneCrew === null ? 0 : 1;
  }
  // The instances try what they are to try.
  for (const count of Object.values(seen)) expect(count).toBeGreaterThan(20);
});
