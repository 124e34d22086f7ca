import type { Duty } from '../server/duties/duty.ts';
import { compileRubric } from '../server/duties/opportunities.ts';
import { startingRubric } from '../server/duties/starting-rubric.ts';
import { generalRemarks } from './comments/index.ts';
import { type DemoConference, makeConference } from './conference.ts';
import { usualSaturday } from './dates.ts';
import { Draws } from './draws.ts';
import { type DemoMark, failureOf, markGame, tallyOpportunities } from './marks.ts';
import { assignObservers, type DemoAssignment, type DemoReportState } from './observers.ts';
import { type DemoPlay, GamePlayer } from './play-game.ts';
import { type DemoGame, makeSchedule, weekToCome } from './schedule.ts';
import {
  type DemoTruth,
  drawSeverity,
  drawSkill,
  type Failure,
  plantInCrew,
  plantInSituation,
  plantMisses,
  setBaseMissRates,
} from './truth.ts';
import { marksSeen, type NotWatched, notWatchedInPerson } from './watching.ts';

interface DemoReport {
  game: string;
  observer: string;
  state: DemoReportState;
  generalComment: string;
  /** Why the coordinator sent it back; empty unless returned. */
  returnedReason: string;
  /** In the stadium: what the observer did not see. */
  notWatched: NotWatched[];
  marks: DemoMark[];
}

export interface DemoSeason {
  conference: DemoConference;
  games: DemoGame[];
  /** By game key. */
  plays: Map<string, DemoPlay[]>;
  assignments: DemoAssignment[];
  reports: DemoReport[];
  truth: DemoTruth;
}

export const demoSeed = 2026;

function failuresByKey(duties: readonly Duty[]): (dutyKey: string) => Failure {
  const byKey = new Map(duties.map((duty) => [duty.key, failureOf(duty)]));
  return (key) => byKey.get(key) ?? 'mechanics';
}

/**
 * The invented season, the same for the same seed: who plays and works where, every play, what observers wrote,
 * and the truth behind it.
 */
export function makeDemoSeason(seed = demoSeed, saturdayToCome = usualSaturday): DemoSeason {
  const draws = new Draws(seed);
  const conference = makeConference(draws.branch('conference'));
  const games = makeSchedule(conference, draws.branch('schedule'), saturdayToCome);
  const teams = new Map(conference.teams.map((team) => [team.name, team]));
  const plays = new Map<string, DemoPlay[]>();
  for (const game of games.filter(({ week }) => week < weekToCome)) {
    const home = teams.get(game.home);
    const visitor = teams.get(game.visitor);
    if (home === undefined || visitor === undefined) throw new Error(`No team for ${game.key}.`);
    plays.set(game.key, new GamePlayer(home, visitor, game.filmed, draws.branch(`play ${game.key}`)).play());
  }
  const assignments = assignObservers(conference, games, draws.branch('assignments'));

  const rubric = compileRubric(startingRubric);
  const tallies = tallyOpportunities(games, plays, rubric);
  const mechanics = new Set(
    startingRubric.filter((duty) => duty.gradedAs === 'mechanics').map((duty) => duty.key),
  );
  const plantable = tallies.filter(({ dutyKey }) => mechanics.has(dutyKey));
  const planted = plantMisses(plantable, draws.branch('planted'));
  const slipping = [
    'wait-before-turning-for-a-ball',
    'eyes-on-players-out-of-bounds',
    'nearest-others-clean-up',
  ];
  const crews = conference.crews.map((crew) => crew.name);
  const truth: DemoTruth = {
    skill: drawSkill(conference, draws.branch('skill')),
    severity: drawSeverity(conference, draws.branch('severity')),
    baseMissRate: setBaseMissRates(tallies, plays.size, failuresByKey(startingRubric)),
    planted,
    plantedInSituation: plantInSituation(plantable, planted, draws.branch('planted in a situation')),
    plantedInCrew: plantInCrew(crews, slipping, planted, draws.branch('planted in a crew')),
  };
  const remarks = draws.branch('remarks');
  const reports: DemoReport[] = [];
  for (const game of games) {
    const written = assignments.filter(
      (assignment) => assignment.game === game.key && assignment.report !== null,
    );
    const log = plays.get(game.key) ?? [];
    const marks = markGame(
      game,
      log,
      written.map(({ observer }) => observer),
      rubric,
      truth,
      draws.branch(`marks ${game.key}`),
    );
    for (const { observer, report, how } of written) {
      if (report === null) continue;
      const notWatched =
        how === 'in person' && report !== 'draft'
          ? notWatchedInPerson(draws.branch(`watched ${game.key} ${observer}`), log.length)
          : [];
      const all = marksSeen(marks.get(observer) ?? [], notWatched, log.length);
      reports.push({
        game: game.key,
        observer,
        state: report,
        generalComment: remarks.pick(generalRemarks),
        returnedReason: report === 'returned' ? 'Please say on each spot mark how far off it was.' : '',
        notWatched,
        // A draft is half done.
        marks: report === 'draft' ? all.filter(({ play }) => play <= log.length / 2) : all,
      });
    }
  }
  return { conference, games, plays, assignments, reports, truth };
}
