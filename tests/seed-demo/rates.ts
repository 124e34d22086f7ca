import type { DemoSeason } from '../../seed-demo/season.ts';
import type { Play } from '../../server/football/play.ts';

/** A figure of the demo season, with the range in which an official or a coordinator would believe it. */
interface Rate {
  readonly what: string;
  readonly low: number;
  readonly high: number;
  readonly of: (plays: readonly Play[], games: number, season: DemoSeason) => number;
}

const count = (plays: readonly Play[], is: (play: Play) => boolean) => plays.filter(is).length;
const aGame = (is: (play: Play) => boolean) => (plays: readonly Play[], games: number) =>
  count(plays, is) / games;
const share = (of: (play: Play) => boolean, is: (play: Play) => boolean) => (plays: readonly Play[]) =>
  count(plays, (play) => of(play) && is(play)) / count(plays, of);
const mean = (of: (play: Play) => boolean, value: (play: Play) => number) => (plays: readonly Play[]) => {
  const chosen = plays.filter(of);
  return chosen.reduce((sum, play) => sum + value(play), 0) / chosen.length;
};

const isDown = ({ kind, snapFor }: Play) => (kind === 'run' || kind === 'pass') && snapFor === 'play';
const isRun = (play: Play) => play.kind === 'run' && isDown(play);
const isThrow = (play: Play) =>
  isDown(play) && ['complete', 'incomplete', 'intercepted'].includes(play.passResult ?? '');
const isCatch = (play: Play) => isThrow(play) && play.passResult === 'complete';
const counts = (play: Play) => !play.fouls?.some((foul) => foul.outcome === 'accepted');
const gained = (play: Play) => (play.endSpot ?? 0) - play.spot;
const onThird = (play: Play) => isDown(play) && play.down === 3 && counts(play);
const isFreeKick = ({ kind, spot }: Play) => kind === 'free kick' && spot === 35;
const penalties = (play: Play) => (play.fouls ?? []).filter(({ outcome }) => outcome === 'accepted').length;
const points = ({ score, tryBy }: Play) =>
  score === 'touchdown'
    ? 6
    : score === 'field goal'
      ? 3
      : score === 'safety'
        ? 2
        : score === 'try good'
          ? tryBy === 'kick'
            ? 1
            : 2
          : 0;
const sum = (value: (play: Play) => number) => (plays: readonly Play[], games: number) =>
  plays.reduce((total, play) => total + value(play), 0) / games;
const ofFlags = ['call-the-fouls-reported', 'call-targeting', 'call-unsportsmanlike'];
const marks = (season: DemoSeason, finding: string, duties?: readonly string[]) =>
  season.reports
    .flatMap((report) => report.marks)
    .filter((mark) => mark.finding === finding && (duties?.includes(mark.dutyKey) ?? true)).length;

/**
 * What a game of college football looks like, both teams together. All ranges are common practice, no source: wide
 * enough for any conference, narrow enough that a generator gone wrong falls out of them.
 */
export const rates: readonly Rate[] = [
  { what: 'plays logged a game, kicks and stopped snaps included', low: 160, high: 190, of: (plays, games) => plays.length / games },
  { what: 'runs and passes a game', low: 125, high: 150, of: aGame(isDown) },
  { what: 'share of runs, sacks and scrambles counted as passes', low: 0.44, high: 0.54, of: share(isDown, isRun) },
  { what: 'yards a run', low: 3.9, high: 5.3, of: mean((play) => isRun(play) && counts(play), gained) },
  { what: 'share of passes completed', low: 0.56, high: 0.66, of: share(isThrow, isCatch) },
  { what: 'yards a completed pass', low: 10, high: 13.5, of: mean((play) => isCatch(play) && counts(play), gained) },
  { what: 'third downs that reach the line to gain', low: 0.34, high: 0.46, of: share(onThird, (play) => gained(play) >= (play.distance ?? 0) && play.passResult !== 'incomplete' && play.turnover === 'none') },
  { what: 'fourth downs played a game', low: 2, high: 6, of: aGame((play) => isDown(play) && play.down === 4) },
  { what: 'kneel-downs a game', low: 1, high: 4, of: aGame((play) => play.snapFor === 'kneel') },
  { what: 'spikes a game', low: 0.1, high: 1, of: aGame((play) => play.snapFor === 'spike') },
  { what: 'points a game', low: 45, high: 62, of: sum(points) },
  { what: 'touchdowns a game', low: 5.3, high: 7.6, of: aGame((play) => play.score === 'touchdown') },
  { what: 'field goals tried a game', low: 2.4, high: 4.6, of: aGame((play) => play.kind === 'place kick') },
  { what: 'share of field goals made', low: 0.66, high: 0.84, of: share((play) => play.kind === 'place kick', (play) => play.kickResult === 'good') },
  { what: 'share of tries by kick', low: 0.85, high: 0.96, of: share((play) => play.kind === 'try', (play) => play.tryBy === 'kick') },
  { what: 'safeties a game', low: 0.02, high: 0.2, of: aGame((play) => play.score === 'safety') },
  { what: 'punts a game', low: 6.5, high: 11, of: aGame((play) => play.kind === 'punt') },
  { what: 'share of punts returned', low: 0.25, high: 0.48, of: share((play) => play.kind === 'punt', (play) => play.kickResult === 'returned') },
  { what: 'share of punts fair-caught', low: 0.22, high: 0.4, of: share((play) => play.kind === 'punt', (play) => play.kickResult === 'fair catch') },
  { what: 'kicks blocked a game', low: 0.1, high: 0.6, of: aGame((play) => play.looseBall === 'blocked kick') },
  { what: 'free kicks a game', low: 9, high: 13, of: aGame((play) => play.kind === 'free kick') },
  { what: 'share of kickoffs returned', low: 0.28, high: 0.48, of: share(isFreeKick, (play) => play.kickResult === 'returned') },
  { what: 'onside kicks a game', low: 0.05, high: 0.6, of: aGame((play) => play.onside === true) },
  { what: 'share of onside kicks recovered by the kickers', low: 0, high: 0.3, of: (plays) => count(plays, (play) => play.onside === true && plays[plays.indexOf(play) + 1]?.offense === play.offense && plays[plays.indexOf(play) + 1]?.kind !== 'free kick') / Math.max(1, count(plays, (play) => play.onside === true)) },
  { what: 'interceptions a game', low: 1.2, high: 2.4, of: aGame((play) => play.turnover === 'interception') },
  { what: 'fumbles lost a game', low: 0.8, high: 2, of: aGame((play) => play.turnover === 'fumble') },
  { what: 'sacks a game', low: 3, high: 5.5, of: aGame((play) => play.passResult === 'sack') },
  { what: 'penalties enforced a game', low: 9, high: 15, of: sum(penalties) },
  { what: 'flags a game', low: 12, high: 19, of: sum((play) => play.fouls?.length ?? 0) },
  { what: 'plays with two fouls or more a game', low: 0.5, high: 2.5, of: aGame((play) => (play.fouls?.length ?? 0) >= 2) },
  { what: 'plays with offsetting fouls a game', low: 0.1, high: 0.8, of: aGame((play) => play.fouls?.some((foul) => foul.outcome === 'offsetting') ?? false) },
  { what: 'flags picked up a game', low: 0.2, high: 1.4, of: sum((play) => play.fouls?.filter((foul) => foul.outcome === 'picked up').length ?? 0) },
  { what: 'targeting fouls a game', low: 0.08, high: 0.5, of: aGame((play) => play.fouls?.some((foul) => foul.foul === 'targeting') ?? false) },
  { what: 'disqualifications a game', low: 0.08, high: 0.6, of: aGame((play) => play.ejection === true) },
  { what: 'replay reviews a game', low: 1.2, high: 3.2, of: aGame((play) => (play.replay ?? 'none') !== 'none') },
  { what: 'share of reviews overturned', low: 0.15, high: 0.42, of: share((play) => (play.replay ?? 'none') !== 'none', (play) => play.replay === 'overturned') },
  { what: 'team time-outs a game', low: 4, high: 9, of: aGame((play) => play.timeout === 'team') },
  { what: 'measurements a game', low: 0.2, high: 1.5, of: aGame((play) => play.measured === true) },
  { what: 'stops for an injury a game', low: 1, high: 3, of: aGame((play) => play.injury === true) },
  { what: 'helmets off a game', low: 0.4, high: 1.5, of: aGame((play) => play.helmetOff === true) },
  { what: 'confrontations a game', low: 0.6, high: 2.5, of: aGame((play) => play.confrontation === true) },
  { what: 'disputes by a coach a game', low: 1, high: 4, of: aGame((play) => play.coachDispute === true) },
  { what: 'crew conferences on different rulings a game', low: 0.2, high: 1.2, of: aGame((play) => play.rulingsDiffered === true) },
  { what: 'inadvertent whistles in the season', low: 1, high: 5, of: (plays) => count(plays, (play) => play.inadvertentWhistle === true) },
  { what: 'ten-second runoffs in the season', low: 1, high: 12, of: (plays) => count(plays, (play) => play.tenSecondRunoff === true) },
  { what: 'games that go to overtime in the season', low: 1, high: 5, of: (_plays, _games, season) => [...season.plays.values()].filter((log) => log.some(({ play }) => (play.quarter ?? 0) > 4)).length },
  { what: 'missed fouls to one wrong flag in the reports', low: 1.5, high: 5, of: (_plays, _games, season) => marks(season, 'missed foul') / marks(season, 'wrong call', ofFlags) },
  { what: 'marks a report, drafts aside', low: 20, high: 60, of: (_plays, _games, season) => { const whole = season.reports.filter(({ state }) => state !== 'draft'); return whole.reduce((total, report) => total + report.marks.length, 0) / whole.length; } },
]; // biome-ignore format: a table reads better in rows

/** Each rate of a season, in the order of the table. */
export function ratesOf(season: DemoSeason): { rate: Rate; value: number }[] {
  const plays = [...season.plays.values()].flat().map(({ play }) => play);
  return rates.map((rate) => ({ rate, value: rate.of(plays, season.plays.size, season) }));
}
