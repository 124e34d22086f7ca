import v8 from 'node:v8';
import vm from 'node:vm';
import { type DemoSeason, makeDemoSeason } from '../../seed-demo/season.ts';
import { usualDecidedShare } from '../../server/duties/decided-share.ts';
import type { Duty } from '../../server/duties/duty.ts';
import type { MarkedFinding } from '../../server/duties/marks-of-cells.ts';
import { namedPositions } from '../../server/duties/named-positions.ts';
import { type CrewAtWork, compileRubric, fullCrew } from '../../server/duties/opportunities.ts';
import { countOpportunities, type LoggedPlay } from '../../server/duties/opportunity-counts.ts';
import { selectorOf } from '../../server/duties/selectors/index.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { usualPractices } from '../../server/football/practices.ts';
import { situationOf } from '../../server/football/situations/index.ts';
import { crewOnField } from '../../server/football/zones/crew-on-field.ts';
import type { Measurement } from './measurement.ts';

interface LoggedGame {
  readonly plays: LoggedPlay[];
  readonly marks: MarkedFinding[];
}

interface Run {
  readonly opportunities: number;
  /** Processor time of this process, which other programs on the machine don't lengthen. */
  readonly seconds: number;
  /** Most heap in use after a collection during the run, MB: program, season and what the run itself holds. */
  readonly heap: number;
}

const crew = fullCrew(8);
const times = 100;

/**
 * Opportunities derived and counted per second, as filing does it (a game at a time, with its marks), on the demo
 * season and on one 100 times larger that is read as a stream. Beside them the plain way: every duty asks each of
 * its situations again, for every play.
 */
export async function opportunities(): Promise<Measurement[]> {
  const games = gamesOf(makeDemoSeason());
  const rubric = compileRubric(startingRubric);
  const count = ({ plays, marks }: LoggedGame) =>
    countOpportunities(plays, crew, rubric, marks, { decidedShareLeast: usualDecidedShare }).counts.reduce(
      (sum, row) => sum + row.opportunities,
      0,
    );

  for (let warmUp = 0; warmUp < 3; warmUp++) measure(repeat(games, 1), count);
  const demo = median([1, 2, 3, 4, 5].map(() => measure(repeat(games, 1), count)));
  const larger = measure(repeat(games, times), count);
  measure(repeat(games, 1), plainly);
  const plain = median([1, 2, 3].map(() => measure(repeat(games, 1), plainly)));

  const plays = games.reduce((sum, game) => sum + game.plays.length, 0);
  const rate = (run: Run) => run.opportunities / run.seconds;
  const beside = (what: string, value: number, unit: string, other: string, otherValue: number) => ({
    name: `opportunities: ${what}`,
    value,
    unit,
    against: `${other}, ${Number(otherValue.toPrecision(4))} ${unit}`,
    ratio: value / otherValue,
  });
  return [
    {
      name: 'opportunities: in the demo season',
      value: demo.opportunities,
      unit: `of ${plays} plays`,
      against: null,
      ratio: null,
    },
    beside(
      'derived on the demo season',
      rate(demo),
      'per s',
      'each duty asking its situations again',
      rate(plain),
    ),
    beside(`derived on a season ${times} times larger`, rate(larger), 'per s', 'the demo season', rate(demo)),
    beside(
      `time for a season ${times} times larger`,
      larger.seconds,
      's',
      `${times} demo seasons`,
      demo.seconds * times,
    ),
    beside(`heap in use on a season ${times} times larger`, larger.heap, 'MB', 'the demo season', demo.heap),
  ];
}

function gamesOf(season: DemoSeason): LoggedGame[] {
  return season.games.map((game) => {
    const plays = (season.plays.get(game.key) ?? []).map(({ number, play }) => ({ id: `${number}`, play }));
    const report = season.reports.find((one) => one.game === game.key);
    const marks = (report?.marks ?? []).map(({ play, position, dutyKey, finding }) => ({
      playId: `${play}`,
      position,
      dutyKey,
      finding,
    }));
    return { plays, marks };
  });
}

/** The season over and over, each game a fresh copy, so that a long run holds one game at a time. */
function* repeat(games: readonly LoggedGame[], howOften: number): Generator<LoggedGame> {
  for (let time = 0; time < howOften; time++) {
    for (const { plays, marks } of games) {
      yield { plays: plays.map(({ id, play }) => ({ id, play: { ...play } })), marks };
    }
  }
}

v8.setFlagsFromString('--expose-gc');
const collect = vm.runInNewContext('gc') as () => void;

function measure(games: Iterable<LoggedGame>, count: (game: LoggedGame) => number): Run {
  let opportunities = 0;
  let seconds = 0;
  let heap = 0;
  let game = 0;
  for (const each of games) {
    const start = process.cpuUsage();
    opportunities += count(each);
    const { user, system } = process.cpuUsage(start);
    seconds += (user + system) / 1e6;
    if (game++ % 500 === 54) {
      collect(); // outside the time taken
      heap = Math.max(heap, process.memoryUsage().heapUsed / 1e6);
    }
  }
  return { opportunities, seconds, heap };
}

/** The same count without a compiled rubric. */
function plainly({ plays }: LoggedGame): number {
  let found = 0;
  for (const { play } of plays) for (const duty of startingRubric) found += owing(duty, play, crew);
  return found;
}

function owing(duty: Duty, play: LoggedPlay['play'], { size, present }: CrewAtWork): number {
  if (!duty.crewSizes.includes(size)) return 0;
  const holds = (key: Duty['allOf'][number]) => situationOf(key).decide(play);
  if (!duty.allOf.every((key) => holds(key) === true)) return 0;
  if (!duty.unless.every((key) => holds(key) === false)) return 0;
  if (duty.anyOf.length > 0 && !duty.anyOf.some((key) => holds(key) === true)) return 0;
  const { selects } = selectorOf(duty.who);
  const field = crewOnField(present, usualPractices);
  return namedPositions(duty, size).filter((position) => selects(position, play, field) === true).length;
}

function median(runs: Run[]): Run {
  return [...runs].sort((a, b) => a.seconds - b.seconds)[Math.floor(runs.length / 2)]!;
}
