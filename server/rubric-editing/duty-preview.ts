import { SituationsOfPlay } from '../duties/compiled-rubric.ts';
import type { Duty } from '../duties/duty.ts';
import { compileRubric, forEachGameOpportunity, forEachOpportunity } from '../duties/opportunities.ts';
import { whoOwedWhat } from '../duties/who-owed-what.ts';
import type { Fact } from '../football/play.ts';
import { type Position, positions } from '../football/positions.ts';
import type { Practices } from '../football/practices.ts';
import type { GameLog } from '../games/season-log.ts';
import { crewAtWork } from '../games/working-crew.ts';

/** How many opportunities a duty gave, and would give. */
interface Chances {
  before: number;
  after: number;
}

interface PositionChances extends Chances {
  readonly position: Position;
  /** By official, most first. */
  readonly officials: ({ readonly personId: string } & Chances)[];
}

/** What a duty would have created over a season's play logs. */
export interface DutyPreview {
  readonly games: number;
  readonly plays: number;
  readonly total: Chances;
  readonly byPosition: PositionChances[];
  /** Plays on which nobody can say whether the duty applied, and the facts most often missing there. */
  readonly undecidedPlays: number;
  readonly missingFacts: { readonly fact: Fact; readonly name: string; readonly plays: number }[];
  /** The first plays that would give an opportunity, to look at. */
  readonly examples: { readonly gameId: string; readonly playId: string }[];
}

const examplesShown = 5;

/**
 * Runs a duty over a season: as it is (`before`, undefined for a new one) and as it would be (`after`, undefined
 * when it would be removed).
 */
export async function previewDuty(
  log: AsyncIterable<GameLog> | Iterable<GameLog>,
  before: Duty | undefined,
  after: Duty | undefined,
  practices: Practices,
): Promise<DutyPreview> {
  const versions = [before, after].filter((duty) => duty !== undefined);
  const rubric = compileRubric(versions, practices);
  const afterNumber = after === undefined ? -1 : versions.length - 1;
  const afterAlone = compileRubric(after === undefined ? [] : [after], practices);
  const scratch = new SituationsOfPlay(rubric);
  const cells = new Map<string, { position: Position; personId: string } & Chances>();
  const missing = new Map<Fact, { fact: Fact; name: string; plays: number }>();
  const examples: { gameId: string; playId: string }[] = [];
  let games = 0;
  let plays = 0;
  let undecidedPlays = 0;

  for await (const game of log) {
    if (game.plays.length === 0 || game.crew.length === 0) continue;
    games++;
    const crew = crewAtWork(game.crew);
    const personAt = new Map(game.crew.map((member) => [member.position, member.personId]));
    const give = (position: Position, number: number) => {
      const personId = personAt.get(position)!;
      const key = `${position}\n${personId}`;
      let cell = cells.get(key);
      if (cell === undefined) {
        cell = { position, personId, before: 0, after: 0 };
        cells.set(key, cell);
      }
      if (number === afterNumber) cell.after++;
      else cell.before++;
    };
    forEachGameOpportunity(crew, rubric, (position, _duty, number) => give(position, number));
    for (const { id, play } of game.plays) {
      plays++;
      let gives = false;
      forEachOpportunity(
        play,
        crew,
        rubric,
        (position, _duty, _named, number) => {
          give(position, number);
          if (number === afterNumber) gives = true;
        },
        scratch,
      );
      if (gives) {
        if (examples.length < examplesShown) examples.push({ gameId: game.gameId, playId: id });
        continue;
      }
      const [open] = whoOwedWhat(play, crew, afterAlone).undecided;
      if (open === undefined) continue;
      undecidedPlays++;
      for (const { fact, name } of open.missing) {
        const known = missing.get(fact);
        if (known === undefined) missing.set(fact, { fact, name, plays: 1 });
        else known.plays++;
      }
    }
  }
  return {
    games,
    plays,
    total: sum([...cells.values()]),
    byPosition: positions.flatMap((position) => {
      const officials = [...cells.values()]
        .filter((cell) => cell.position === position)
        .sort((a, b) => b.after - a.after || b.before - a.before || (a.personId < b.personId ? -1 : 1));
      return officials.length === 0
        ? []
        : [{ position, ...sum(officials), officials: officials.map(({ position: _, ...rest }) => rest) }];
    }),
    undecidedPlays,
    missingFacts: [...missing.values()].sort((a, b) => b.plays - a.plays),
    examples,
  };
}

function sum(parts: readonly Chances[]): Chances {
  return parts.reduce(
    (total, part) => ({ before: total.before + part.before, after: total.after + part.after }),
    { before: 0, after: 0 },
  );
}
