import type { Duty } from '../server/duties/duty.ts';
import type { Finding } from '../server/duties/finding.ts';
import { type CompiledRubric, forEachOpportunity, fullCrew } from '../server/duties/opportunities.ts';
import type { Position } from '../server/football/positions.ts';
import { situationCuts } from '../server/patterns/situation-cuts.ts';
import { modelRemarks, notSeenRemarks, remarksOn, rightCallRemarks, rightNoCallRemarks } from './comments.ts';
import type { Draws } from './draws.ts';
import type { DemoPlay } from './play-game.ts';
import type { DemoGame } from './schedule.ts';
import { type DemoTruth, logit, type OpportunityTally } from './truth.ts';

export interface DemoMark {
  play: number;
  position: Position;
  dutyKey: string;
  finding: Finding;
  comment: string;
}

/** An observer doesn't write more than this in three hours. */
const mostMarks = 80;
/** How differently two observers of equal severity see the same moment (logit scale). */
const eyesDeviation = 0.35;
const gameDeviation = 0.15;
const modelRate = 0.0006;
const notSeenRate = 0.0004;
const rightRate = 0.0012;

/** Opportunities per official, position and duty over the season: what misses can be planted in. */
export function tallyOpportunities(
  games: readonly DemoGame[],
  plays: ReadonlyMap<string, readonly DemoPlay[]>,
  rubric: CompiledRubric,
): OpportunityTally[] {
  const tallies = new Map<string, OpportunityTally & { last: string }>();
  const crew = fullCrew(8);
  for (const game of games) {
    for (const { play } of plays.get(game.key) ?? []) {
      forEachOpportunity(play, crew, rubric, (position, duty) => {
        const email = game.workingCrew[position];
        const key = `${email}\n${position}\n${duty.key}`;
        let tally = tallies.get(key);
        if (tally === undefined) {
          tally = { email, position, dutyKey: duty.key, opportunities: 0, games: 0, last: '' };
          tallies.set(key, tally);
        }
        tally.opportunities += 1;
        if (tally.last !== game.key) tally.games += 1;
        tally.last = game.key;
      });
    }
  }
  return [...tallies.values()].map(({ last: _last, ...tally }) => tally);
}

/** Duties to rule on fouls, told by their keys: they fail by a flag that was not thrown. The others rule on the ball. */
const aboutFouls = /holding|interference|hits|grounding|blocks|line-fouls|illegal/;

function notMet(duty: Duty): Finding {
  if (duty.gradedAs === 'mechanics') return 'missed';
  return aboutFouls.test(duty.key) ? 'missed foul' : 'wrong call';
}

/**
 * What each observer of one game writes down: exceptions only. Observers of one game see the same performance
 * (one uniform draw per opportunity) through their own severity and their own eyes.
 */
export function markGame(
  game: DemoGame,
  plays: readonly DemoPlay[],
  observers: readonly string[],
  rubric: CompiledRubric,
  truth: DemoTruth,
  draws: Draws,
): Map<string, DemoMark[]> {
  const skills = new Map(truth.skill.map(({ email, byCategory }) => [email, byCategory]));
  const severities = new Map(truth.severity.map(({ email, severity }) => [email, severity]));
  const planted = new Map(
    truth.planted
      .filter(({ untilWeek }) => untilWeek === null || game.week <= untilWeek)
      .map((miss) => [`${miss.email}\n${miss.position}\n${miss.dutyKey}`, miss.missRate]),
  );
  const inSituation = new Map(
    truth.plantedInSituation.map((miss) => [
      `${miss.email}\n${miss.position}\n${miss.dutyKey}`,
      { missRate: miss.missRate, cut: situationCuts.find((cut) => cut.key === miss.situation) },
    ]),
  );
  const inCrew = new Map(
    truth.plantedInCrew.filter(({ crew }) => crew === game.crew).map((miss) => [miss.dutyKey, miss.missRate]),
  );
  const gameEffect = draws.normal(0, gameDeviation);
  const performance = draws.branch('performance');
  const eyes = observers.map((email) => ({
    email,
    severity: severities.get(email) ?? 0,
    draws: draws.branch(`eyes ${email}`),
    marks: [] as DemoMark[],
  }));
  const crew = fullCrew(8);
  for (const { number, play } of plays) {
    forEachOpportunity(play, crew, rubric, (position, duty) => {
      const official = game.workingCrew[position];
      const who = `${official}\n${position}\n${duty.key}`;
      const situational = inSituation.get(who);
      const rate =
        planted.get(who) ??
        (situational?.cut?.decide(play) === true ? situational.missRate : undefined) ??
        inCrew.get(duty.key) ??
        truth.baseMissRate[duty.key] ??
        0.01;
      const skill = skills.get(official)?.[duty.category] ?? 0;
      const performed = logit(Math.min(1 - 1e-12, Math.max(1e-12, performance.unit())));
      const towardsMiss = logit(rate) - skill + gameEffect;
      for (const observer of eyes) {
        const seen = towardsMiss + observer.severity + observer.draws.normal(0, eyesDeviation);
        const other = observer.draws.unit();
        const mark = (finding: Finding, remarks: readonly string[]) => {
          if (observer.marks.length >= mostMarks) return;
          const comment = observer.draws.pick(remarks);
          observer.marks.push({ play: number, position, dutyKey: duty.key, finding, comment });
        };
        if (performed < seen) mark(notMet(duty), remarksOn(duty));
        else if (duty.gradedAs === 'call') {
          if (other < rightRate) {
            if (notMet(duty) === 'missed foul') mark('right no-call', rightNoCallRemarks);
            else mark('right call', rightCallRemarks);
          } else if (other > 1 - notSeenRate) mark('cannot tell', notSeenRemarks);
        } else if (other < modelRate) mark('model', modelRemarks);
        else if (other > 1 - notSeenRate) mark('not seen', notSeenRemarks);
      }
    });
  }
  return new Map(eyes.map(({ email, marks }) => [email, marks]));
}
