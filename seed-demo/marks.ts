import { SituationsOfPlay } from '../server/duties/compiled-rubric.ts';
import { type Consequence, mayHaveConsequence } from '../server/duties/consequence.ts';
import type { Duty } from '../server/duties/duty.ts';
import type { Finding } from '../server/duties/finding.ts';
import {
  type CompiledRubric,
  forEachGameOpportunity,
  forEachOpportunity,
  fullCrew,
} from '../server/duties/opportunities.ts';
import type { Play } from '../server/football/play.ts';
import { type Position, positions } from '../server/football/positions.ts';
import { situationCuts } from '../server/patterns/situation-cuts.ts';
import { dutyOfTheFlag, modelRemarks, notSeenRemarks, remarksOn, rightRemarks } from './comments/index.ts';
import { costOfACall } from './cost-of-a-call.ts';
import type { Draws } from './draws.ts';
import type { DemoPlay } from './play-game.ts';
import type { DemoGame } from './schedule.ts';
import { type DemoTruth, type Failure, logit, type OpportunityTally } from './truth.ts';

export interface DemoMark {
  play: number;
  position: Position;
  dutyKey: string;
  finding: Finding;
  consequence: Consequence | null;
  comment: string;
}

/** How differently two observers of equal severity see the same moment (logit scale). */
const eyesDeviation = 0.35;
const gameDeviation = 0.15;
const modelRate = 0.0006;
const modelRateOfTheGame = 0.03;
const missRateOfTheGame = 0.04;
const notSeenRate = 0.0004;
const rightRate = 0.0006;
const rightRateWhenClose = 0.015;
/** Some observers write much, some little beyond what was missed. */
const talkative = [0.4, 2] as const;

/** Opportunities on plays per official, position and duty over the season: what misses can be planted in. */
export function tallyOpportunities(
  games: readonly DemoGame[],
  plays: ReadonlyMap<string, readonly DemoPlay[]>,
  rubric: CompiledRubric,
): OpportunityTally[] {
  const tallies: (OpportunityTally & { last: string })[] = [];
  /** By official and position, then by duty number. */
  const known = new Map<string, (OpportunityTally & { last: string })[]>();
  const crew = fullCrew(8);
  const scratch = new SituationsOfPlay(rubric);
  for (const game of games) {
    const ofPosition = byPosition((position) => {
      const who = `${game.workingCrew[position]}\n${position}`;
      if (!known.has(who)) known.set(who, []);
      return known.get(who)!;
    });
    const tallyOne = (position: Position, duty: Duty, _named: Position, dutyNumber: number) => {
      let tally = ofPosition[position][dutyNumber];
      if (tally === undefined) {
        const email = game.workingCrew[position];
        tally = { email, position, dutyKey: duty.key, opportunities: 0, games: 0, last: '' };
        ofPosition[position][dutyNumber] = tally;
        tallies.push(tally);
      }
      tally.opportunities += 1;
      if (tally.last !== game.key) tally.games += 1;
      tally.last = game.key;
    };
    for (const { play } of plays.get(game.key) ?? [])
      forEachOpportunity(play, crew, rubric, tallyOne, scratch);
  }
  return tallies.map(({ last: _last, ...tally }) => tally);
}

function byPosition<Value>(of: (position: Position) => Value): Record<Position, Value> {
  return Object.fromEntries(positions.map((position) => [position, of(position)])) as Record<Position, Value>;
}

/** Duties to rule on fouls, told by their keys: they fail by a flag that was not thrown. The others rule on the ball. */
const aboutFouls =
  /holding|interference|hits|grounding|blocks|line-fouls|illegal|ineligible|horse-collar|roughing/;
/** Duties that come up when a foul was called: they fail by a flag that should have stayed down. */
const ofFlags: readonly string[] = [dutyOfTheFlag, 'call-targeting', 'call-unsportsmanlike'];

export function failureOf({ key, gradedAs }: Pick<Duty, 'key' | 'gradedAs'>): Failure {
  if (gradedAs === 'mechanics') return 'mechanics';
  if (ofFlags.includes(key)) return 'wrong flag';
  return aboutFouls.test(key) ? 'missed foul' : 'wrong ruling';
}

const findingOf: Readonly<Record<Failure, Finding>> = {
  mechanics: 'missed',
  'missed foul': 'missed foul',
  'wrong flag': 'wrong call',
  'wrong ruling': 'wrong call',
};

/** Rulings that a review can change, and what it leaves of the chance that the first one was wrong. */
const reviewable = ['call-catch-or-no-catch', 'call-fumble-or-down', 'call-touchdown', 'call-in-or-out'];

/** The review of this play says whether the ruling was right; a flag that was picked up was no call. */
function knownRate(play: Play, duty: Duty, position: Position): number | undefined {
  const foul = play.fouls?.find(({ reportedBy }) => reportedBy === position);
  if (duty.key === dutyOfTheFlag && foul?.outcome === 'picked up') return 0.002;
  if (!reviewable.includes(duty.key) || play.replay === undefined || play.replay === 'none') return undefined;
  return { confirmed: 0.002, stands: 0.05, overturned: 0.8 }[play.replay];
}

/** Rulings that were close are the ones an observer praises. */
const isClose = (play: Play) =>
  play.catchInQuestion === true ||
  play.fumbleOrDown === true ||
  play.lineToGainInQuestion === true ||
  play.replay === 'confirmed' ||
  (play.fouls ?? []).length > 0;

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
    costs: draws.branch(`costs ${email}`),
    talk: talkative[0] + (talkative[1] - talkative[0]) * draws.branch(`talk ${email}`).unit(),
    marks: [] as DemoMark[],
  }));
  const crew = fullCrew(8);
  /** What holds for an official and a duty all through the game, by position and duty. */
  const inGame = byPosition(() => new Map<Duty, ReturnType<typeof holdsInGame>>());
  const holdsInGame = (position: Position, duty: Duty) => {
    const official = game.workingCrew[position];
    const who = `${official}\n${position}\n${duty.key}`;
    return {
      planted: planted.get(who),
      situational: inSituation.get(who),
      slipping: inCrew.get(duty.key),
      skill: skills.get(official)?.[duty.category] ?? 0,
      failure: failureOf(duty),
    };
  };
  const judge = (number: number, play: Play, position: Position, duty: Duty, praise: number) => {
    let holds = inGame[position].get(duty);
    if (holds === undefined) {
      holds = holdsInGame(position, duty);
      inGame[position].set(duty, holds);
    }
    const { situational, failure } = holds;
    const rate =
      holds.planted ??
      (situational?.cut?.decide(play) === true ? situational.missRate : undefined) ??
      holds.slipping ??
      knownRate(play, duty, position) ??
      truth.baseMissRate[duty.key] ??
      missRateOfTheGame;
    const performed = logit(Math.min(1 - 1e-12, Math.max(1e-12, performance.unit())));
    const towardsMiss = logit(rate) - holds.skill + gameEffect;
    for (const observer of eyes) {
      const seen = towardsMiss + observer.severity + observer.draws.normal(0, eyesDeviation);
      const found = findingOn(duty, play, failure, {
        missed: performed < seen,
        other: observer.draws.unit(),
        talk: observer.talk,
        praise,
      });
      if (found === undefined) continue;
      const comment = observer.draws.pick(remarksFor(found, duty, position, play));
      const consequence = mayHaveConsequence(found)
        ? costOfACall(duty.key, failure, play, observer.costs)
        : null;
      observer.marks.push({
        play: number,
        position,
        dutyKey: duty.key,
        finding: found,
        consequence,
        comment,
      });
    }
  };
  const scratch = new SituationsOfPlay(rubric);
  for (const { number, play } of plays)
    forEachOpportunity(
      play,
      crew,
      rubric,
      (position, duty) => judge(number, play, position, duty, modelRate),
      scratch,
    );
  // What is owed once a game is marked when all is seen, on the last play.
  const last = plays.at(-1);
  if (last !== undefined)
    forEachGameOpportunity(crew, rubric, (position, duty) =>
      judge(last.number, last.play, position, duty, modelRateOfTheGame),
    );
  return new Map(eyes.map(({ email, marks }) => [email, marks]));
}

/** What an observer writes of an opportunity, if anything: whether it was missed, then by a uniform draw (`other`). */
function findingOn(
  duty: Duty,
  play: Play,
  failure: Failure,
  { missed, other, talk, praise }: { missed: boolean; other: number; talk: number; praise: number },
): Finding | undefined {
  if (missed) return findingOf[failure];
  if (other > 1 - notSeenRate * talk) return duty.gradedAs === 'call' ? 'cannot tell' : 'not seen';
  if (duty.gradedAs === 'mechanics') return other < praise * talk ? 'model' : undefined;
  const rate = failure !== 'missed foul' && isClose(play) ? rightRateWhenClose : rightRate;
  if (other >= rate * talk) return undefined;
  return failure === 'missed foul' ? 'right no-call' : 'right call';
}

function remarksFor(finding: Finding, duty: Duty, position: Position, play: Play): readonly string[] {
  if (finding === 'cannot tell' || finding === 'not seen') return notSeenRemarks;
  if (finding === 'model') return modelRemarks(duty);
  if (finding === 'right no-call' || finding === 'right call') return rightRemarks(duty);
  return remarksOn(duty, position, play);
}
