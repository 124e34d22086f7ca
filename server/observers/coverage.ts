import { sharesOf } from '../duties/report-shares.ts';
import { groupsOf } from '../planning/connectedness.ts';
import { expectedErrors, type PlannedGrade } from '../planning/expected-errors.ts';
import type { Spread } from '../planning/prices.ts';
import { type Assignment, keptOf, type SeasonMaterial, stands } from './season-material.ts';

/** How often someone has been seen (a report was begun) and will be by the season's end as things stand. */
interface Seen {
  readonly gamesWorked: number;
  readonly timesSeen: number;
  readonly timesPlanned: number;
  /** Different observers, seen and planned together. */
  readonly observers: number;
  /** Of the chances in the games seen: the share watched, and of those the share that the logs give; null before. */
  readonly watchedShare: number | null;
  readonly decidedShare: number | null;
}

interface CrewCoverage extends Seen {
  readonly id: string;
  readonly name: string;
  readonly shortOfTimes: number;
  readonly shortOfObservers: number;
  /** Mean standard error of its officials in grade points; one not seen counts with the spread of skill. */
  readonly errorNow: number | null;
  readonly errorAtEnd: number | null;
}

interface OfficialCoverage extends Seen {
  readonly id: string;
  readonly position: string;
  readonly crew: string | null;
  /** Null: not seen at all, so nothing is known beyond what officials in general vary by. */
  readonly errorNow: number | null;
  readonly errorAtEnd: number | null;
}

interface Coverage {
  readonly crews: readonly CrewCoverage[];
  readonly officials: readonly OfficialCoverage[];
  /** Groups of crews that share no observer at the season's end; one group means all can be compared. */
  readonly groups: readonly (readonly string[])[];
  readonly spread: Spread;
}

/** The grades that will be given when these observers watch these games; whoever they did not watch gets none. */
function plannedGrades(
  material: SeasonMaterial,
  watching: readonly (Pick<Assignment, 'gameId' | 'observerId'> & Partial<Pick<Assignment, 'kept'>>)[],
): PlannedGrade[] {
  const games = new Map(material.games.map((game) => [game.id, game]));
  return watching.flatMap(({ gameId, observerId, kept }) =>
    (games.get(gameId)?.officials ?? []).flatMap(({ id, position }) => {
      const chances = kept?.get(id);
      const watchedShare = chances ? (sharesOf(chances).watched ?? 1) : 1;
      return watchedShare === 0 ? [] : [{ officialId: id, position, observerId, gameId, watchedShare }];
    }),
  );
}

/**
 * Mean standard error at the season's end over everyone who works a game, in grade points; an official nobody watches
 * counts with the spread of skill. Null when nobody works.
 */
export function meanErrorUnder(
  material: SeasonMaterial,
  watching: readonly { readonly gameId: string; readonly observerId: string }[],
  spread: Spread,
): number | null {
  const errors = expectedErrors(plannedGrades(material, watching), spread);
  const everyone = new Set(material.games.flatMap(({ officials }) => officials.map(({ id }) => id)));
  if (everyone.size === 0) return null;
  let sum = 0;
  for (const id of everyone) sum += errors.get(id) ?? spread.official;
  return sum / everyone.size;
}

/** What the season has seen and will have seen under the present plan: offers count as if they were accepted. */
export function coverageOf(material: SeasonMaterial, spread: Spread): Coverage {
  const active = material.assignments.filter(stands);
  const byGame = new Map<string, Assignment[]>();
  for (const one of active) byGame.set(one.gameId, [...(byGame.get(one.gameId) ?? []), one]);
  const isSeen = (one: Assignment) => one.reportState !== null && one.reportState !== 'draft';

  const now = expectedErrors(plannedGrades(material, active.filter(isSeen)), spread);
  const atEnd = expectedErrors(plannedGrades(material, active), spread);

  const tally = (games: readonly { id: string }[], of?: ReadonlySet<string>): Seen => {
    const all = games.flatMap(({ id }) => byGame.get(id) ?? []);
    const shares = sharesOf(keptOf(all.filter(isSeen), of));
    return {
      watchedShare: shares.watched,
      decidedShare: shares.decided,
      gamesWorked: games.length,
      timesSeen: all.filter(isSeen).length,
      timesPlanned: all.filter((one) => !isSeen(one)).length,
      observers: new Set(all.map(({ observerId }) => observerId)).size,
    };
  };
  const mean = (values: readonly number[]) =>
    values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;

  const crewNames = new Map(
    material.games.flatMap(({ crew }) => (crew ? [[crew.id, crew.name] as const] : [])),
  );
  const { crewTarget } = material.settings;
  const crews = [...crewNames].map(([id, name]): CrewCoverage => {
    const games = material.games.filter(({ crew }) => crew?.id === id);
    const seen = tally(games);
    const members = [...new Set(games.flatMap(({ officials }) => officials.map((official) => official.id)))];
    return {
      id,
      name,
      ...seen,
      shortOfTimes: Math.max(0, crewTarget.timesSeen - seen.timesSeen - seen.timesPlanned),
      shortOfObservers: Math.max(0, crewTarget.differentObservers - seen.observers),
      errorNow: mean(members.map((member) => now.get(member) ?? spread.official)),
      errorAtEnd: mean(members.map((member) => atEnd.get(member) ?? spread.official)),
    };
  });

  const worked = new Map<
    string,
    { games: (typeof material.games)[number][]; positions: Map<string, number> }
  >();
  for (const game of material.games)
    for (const { id, position } of game.officials) {
      const entry = worked.get(id) ?? { games: [], positions: new Map<string, number>() };
      worked.set(id, entry);
      entry.games.push(game);
      entry.positions.set(position, (entry.positions.get(position) ?? 0) + 1);
    }
  const most = (counts: ReadonlyMap<string, number>) => [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? '';
  const officials = [...worked].map(([id, { games, positions }]): OfficialCoverage => {
    const inCrew = new Map<string, number>();
    for (const { crew } of games) if (crew) inCrew.set(crew.name, (inCrew.get(crew.name) ?? 0) + 1);
    return {
      id,
      position: most(positions),
      crew: most(inCrew) || null,
      ...tally(games, new Set([id])),
      errorNow: now.get(id) ?? null,
      errorAtEnd: atEnd.get(id) ?? null,
    };
  });

  const pairs = active.flatMap((one) => {
    const crew = material.games.find(({ id }) => id === one.gameId)?.crew;
    return crew ? [{ observerId: one.observerId, crewId: crew.id }] : [];
  });
  return {
    crews: crews.sort((a, b) => (a.name < b.name ? -1 : 1)),
    officials,
    groups: groupsOf([...crewNames.keys()], pairs).map((group) =>
      [...group.crewIds].map((id) => crewNames.get(id) ?? id).sort(),
    ),
    spread,
  };
}
