import { timecodeInWords } from '../server/football/clock-words.ts';
import type { Play } from '../server/football/play.ts';
import { positions } from '../server/football/positions.ts';
import { pointsIn } from '../server/football/whole/points.ts';
import { writeCsv } from '../server/imports/csv/write-csv.ts';
import { crewsFormat } from '../server/imports/files/crews.ts';
import { observerAssignmentsFormat } from '../server/imports/files/observer-assignments.ts';
import { playCells, playsFormat } from '../server/imports/files/plays.ts';
import { scheduleFormat } from '../server/imports/files/schedule.ts';
import { staffFormat } from '../server/imports/files/staff.ts';
import { teamsFormat } from '../server/imports/files/teams.ts';
import { venuesFormat } from '../server/imports/files/venues.ts';
import { workingCrewsFormat } from '../server/imports/files/working-crews.ts';
import { observationsFormat, reportsFormat } from './report-files.ts';
import type { DemoSeason } from './season.ts';
import { notWatchedText } from './watching.ts';

export interface DemoFile {
  /** The file's name without `.csv`. */
  name: string;
  text: string;
}

/** What the plays add up to; nothing before the game is played. */
function finalScore(log: readonly { play: Play }[] | undefined) {
  if (log === undefined) return {};
  const { home, visitor } = pointsIn(log.map(({ play }) => play)).least;
  return { homePoints: home, visitorPoints: visitor };
}

/** The demo season as the files that a conference would import, in that order, then its reports. */
export function demoFiles({ conference, games, plays, assignments, reports }: DemoSeason): DemoFile[] {
  const { season } = conference;
  const people = [conference.coordinator, ...conference.observers, ...conference.officials];
  return [
    { name: 'venues', text: writeCsv(venuesFormat, conference.venues) },
    { name: 'teams', text: writeCsv(teamsFormat, conference.teams) },
    {
      name: 'staff',
      text: writeCsv(
        staffFormat,
        people.map((person) => ({ ...person, roles: person.roles.join('; ') })),
      ),
    },
    {
      name: 'crews',
      text: writeCsv(
        crewsFormat,
        conference.crews.flatMap((crew) =>
          positions.map((position) => ({ season, crew: crew.name, position, email: crew.members[position] })),
        ),
      ),
    },
    {
      name: 'schedule',
      text: writeCsv(
        scheduleFormat,
        games.map((game) => ({ ...game, season, game: game.key, ...finalScore(plays.get(game.key)) })),
      ),
    },
    {
      name: 'working-crews',
      text: writeCsv(
        workingCrewsFormat,
        games
          .filter((game) => plays.has(game.key))
          .flatMap((game) =>
            positions.map((position) => ({ game: game.key, position, email: game.workingCrew[position] })),
          ),
      ),
    },
    {
      name: 'plays',
      text: writeCsv(
        playsFormat,
        games.flatMap((game) =>
          (plays.get(game.key) ?? []).map(({ number, play, filmSeconds, note }) => ({
            ...playCells(play),
            game: game.key,
            number,
            filmSeconds: filmSeconds === null ? null : timecodeInWords(filmSeconds),
            note,
          })),
        ),
      ),
    },
    {
      name: 'observer-assignments',
      text: writeCsv(
        observerAssignmentsFormat,
        assignments.map(({ game, observer, how, answer }) => ({ game, email: observer, how, answer })),
      ),
    },
    {
      name: 'reports',
      text: writeCsv(
        reportsFormat,
        reports.map(({ game, observer, state, returnedReason, generalComment, notWatched }) => ({
          game,
          email: observer,
          state,
          returnedReason,
          generalComment,
          notWatched: notWatchedText(notWatched),
        })),
      ),
    },
    {
      name: 'observations',
      text: writeCsv(
        observationsFormat,
        reports.flatMap(({ game, observer, marks }) =>
          marks.map(({ play, position, dutyKey, finding, consequence, comment }) => ({
            game,
            email: observer,
            play,
            position,
            duty: dutyKey,
            finding,
            consequence,
            comment,
          })),
        ),
      ),
    },
  ];
}
