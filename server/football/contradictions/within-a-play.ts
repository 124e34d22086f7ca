import { clockInWords } from '../clock-words.ts';
import { type Code, codeFacts } from '../codes.ts';
import { endZone } from '../drawing/field-measures.ts';
import { factNames, factValueInWords } from '../fact-words.ts';
import type { Fact, Play } from '../play.ts';
import { yardLineInWords } from '../yard-line-words.ts';
import { certainlyNoPenalty, type Found } from './contradiction.ts';

type Check = (play: Play, code: Code) => Found | undefined;

const but = (fact: Fact, says: string, fix: string): Found => ({ fact, says, fix });
const isIn = (play: Play, fact: Fact) => `${factNames[fact]} is ${factValueInWords(play, fact)}`;
const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

const onTheField = (spot: number | undefined): spot is number => spot !== undefined && spot > 0 && spot < 100;
const kickFacts: readonly Fact[] = [
  'kickResult',
  'kickTo',
  'kickSide',
  'kickTouchedBy',
  'onside',
  'firstTouching',
  'fairCatchSignal',
  'kickCrossed',
];

const distanceBeyondTheGoal: Check = ({ spot, distance }) =>
  distance !== undefined && spot + distance > 100
    ? but(
        'distance',
        `${distance} to go from ${yardLineInWords(spot)} lies beyond the goal line.`,
        `Write ${100 - spot}, which is goal to go, or correct the spot.`,
      )
    : undefined;

const deadBeyondTheField: Check = ({ endSpot }) => {
  if (endSpot === undefined || (endSpot >= -endZone && endSpot <= 100 + endZone)) return undefined;
  return but(
    'endSpot',
    `The ball was dead in ${yardLineInWords(endSpot)}, where there is no field: an end zone is ${endZone} yards deep.`,
    'Correct the dead-ball spot.',
  );
};

const clockOverTheQuarter: Check = ({ quarter, clockSeconds }, code) => {
  const longest = codeFacts[code].quarterSeconds;
  if (clockSeconds === undefined || clockSeconds <= longest || (quarter ?? 1) > 4) return undefined;
  return but(
    'clockSeconds',
    `${clockInWords(clockSeconds)} is left in a quarter of ${clockInWords(longest)}.`,
    'Correct the game clock.',
  );
};

const scoreAndSpot: Check = (play) => {
  const { kind, score, endSpot, turnover, looseBall, passResult } = play;
  if (score === 'touchdown' && onTheField(endSpot)) {
    return but(
      'score',
      `A touchdown, but the ball was dead at ${yardLineInWords(endSpot)}.`,
      'Set the dead-ball spot to the goal line (100, or 0 when the other team scored), or correct the score.',
    );
  }
  if (score === 'safety' && onTheField(endSpot) && certainlyNoPenalty(play)) {
    return but(
      'score',
      `A safety, but the ball was dead at ${yardLineInWords(endSpot)} and no penalty was accepted.`,
      'Set the dead-ball spot to the goal line, correct the score, or log the foul.',
    );
  }
  const carriedOver =
    (kind === 'run' || (kind === 'pass' && (passResult === 'complete' || passResult === 'scramble'))) &&
    endSpot !== undefined &&
    endSpot >= 100 &&
    turnover === 'none' &&
    looseBall === 'none';
  if (score === 'none' && carriedOver && certainlyNoPenalty(play)) {
    return but(
      'score',
      "The ball was dead at the opponent's goal line in the offense's hands, but nothing was scored.",
      'Set the score to touchdown, or correct the dead-ball spot.',
    );
  }
  return undefined;
};

const scoreAndKind: Check = (play) => {
  const { kind, score } = play;
  if (score === undefined || score === 'none') return undefined;
  const wrong =
    (score === 'try good' && kind !== 'try') ||
    (score === 'field goal' && kind !== 'place kick' && kind !== 'free kick') ||
    (kind === 'try' && (score === 'touchdown' || score === 'field goal')) ||
    kind === 'no snap';
  if (!wrong) return undefined;
  const fix =
    kind === 'try'
      ? 'Write "try good", or correct the kind of play.'
      : 'Correct the score or the kind of play.';
  return but('score', `The ${isIn(play, 'score')} on a ${kind}.`, fix);
};

const kickAndScore: Check = (play) => {
  const { kind, kickResult, score } = play;
  if (kind === 'punt' && (kickResult === 'good' || kickResult === 'no good')) {
    return but('kickResult', `A punt cannot be ${kickResult}.`, 'Correct the kick or the kind of play.');
  }
  const scores = score === 'field goal' || (score === 'try good' && play.tryBy === 'kick');
  if (kickResult === 'no good' && scores) {
    return but(
      'score',
      `The kick was no good, but the ${isIn(play, 'score')}.`,
      'Correct the kick or the score.',
    );
  }
  if (kickResult === 'good' && score === 'none' && certainlyNoPenalty(play)) {
    return but('score', 'The kick was good, but nothing was scored.', 'Correct the kick or the score.');
  }
  return undefined;
};

const factsOfAnotherKind: Check = (play) => {
  const { kind, tryBy } = play;
  const fix = 'Take it away, or correct the kind of play.';
  const carried = kind === 'run' || kind === 'pass' || kind === 'no snap';
  const kicked = (fact: Fact) => play[fact] !== undefined && play[fact] !== false && play[fact] !== 'nobody';
  const kick = carried ? kickFacts.find(kicked) : undefined;
  if (kick) return but(kick, `${capital(isIn(play, kick))} on a ${kind}, where nothing is kicked.`, fix);
  if (play.passResult !== undefined && kind !== 'pass' && kind !== 'try') {
    return but('passResult', `${capital(isIn(play, 'passResult'))} on a ${kind}, which is no pass.`, fix);
  }
  if (kind === 'try' && play.kickResult !== undefined && (tryBy === 'run' || tryBy === 'pass')) {
    return but(
      'tryBy',
      `${capital(isIn(play, 'kickResult'))} on a try by ${tryBy}.`,
      'Correct either of them.',
    );
  }
  if (tryBy !== undefined && kind !== 'try') {
    return but('tryBy', `${capital(isIn(play, 'tryBy'))} on a ${kind}, which is no try.`, fix);
  }
  return undefined;
};

const passes: Check = (play) => {
  const { kind, passResult, spot, endSpot, catchDepth, looseBall, turnover } = play;
  if (kind !== 'pass') return undefined;
  if (passResult === 'incomplete' && endSpot !== undefined && endSpot !== spot && certainlyNoPenalty(play)) {
    return but(
      'endSpot',
      `The pass was incomplete, but the ball was dead at ${yardLineInWords(endSpot)}, not where it was snapped.`,
      'Take the dead-ball spot away, or correct what came of the pass.',
    );
  }
  // While neither is logged, the ball may have come loose.
  const loose =
    looseBall === 'fumble' || turnover === 'fumble' || (looseBall === undefined && turnover === undefined);
  if (passResult === 'sack' && endSpot !== undefined && endSpot > spot && !loose) {
    return but(
      'endSpot',
      `A sack, but the ball was dead ${endSpot - spot} beyond the line.`,
      'Call it a scramble, correct the dead-ball spot, or log the fumble.',
    );
  }
  if (catchDepth === undefined || (passResult !== 'complete' && passResult !== 'intercepted'))
    return undefined;
  const caughtAt = spot + catchDepth;
  if (caughtAt > 100 + endZone || caughtAt < -endZone) {
    return but(
      'catchDepth',
      `The catch, ${factValueInWords(play, 'catchDepth')} from ${yardLineInWords(spot)}, lies beyond the end line.`,
      'Correct the catch or the spot.',
    );
  }
  if (
    passResult === 'complete' &&
    caughtAt >= 100 &&
    onTheField(endSpot) &&
    !loose &&
    certainlyNoPenalty(play)
  ) {
    return but(
      'endSpot',
      `Caught beyond the goal line, but dead at ${yardLineInWords(endSpot)}.`,
      'Correct the catch or the dead-ball spot.',
    );
  }
  return undefined;
};

const turnovers: Check = (play) => {
  const { kind, turnover, passResult, looseBall, down, distance, spot, endSpot } = play;
  if (turnover === 'interception' && passResult !== undefined && passResult !== 'intercepted') {
    return but(
      'turnover',
      `The turnover is an interception, but the ${isIn(play, 'passResult')}.`,
      'Correct the turnover or the pass.',
    );
  }
  if (turnover === 'interception' && kind !== 'pass' && kind !== 'try') {
    return but('turnover', `An interception on a ${kind}.`, 'Correct the turnover or the kind of play.');
  }
  const kept = turnover === 'none' || turnover === 'downs';
  if (passResult === 'intercepted' && kept && looseBall !== 'fumble' && certainlyNoPenalty(play)) {
    return but(
      'turnover',
      `The pass was intercepted, but the ${isIn(play, 'turnover')}.`,
      'Set the turnover to interception, or log the fumble that gave the ball back.',
    );
  }
  if (turnover === 'fumble' && looseBall === 'none') {
    return but(
      'looseBall',
      'The ball was lost by a fumble, but no ball came loose.',
      'Set the loose ball to fumble or muff, or correct the turnover.',
    );
  }
  if (turnover !== 'downs') return undefined;
  if (down !== undefined && down < 4) {
    return but(
      'turnover',
      `The ball was lost on downs, on down ${down}.`,
      'Correct the down or the turnover.',
    );
  }
  const reached =
    (kind === 'run' || passResult === 'complete' || passResult === 'scramble') &&
    distance !== undefined &&
    endSpot !== undefined &&
    endSpot - spot > distance;
  return reached && certainlyNoPenalty(play)
    ? but(
        'turnover',
        'The ball was lost on downs, but it was dead beyond the line to gain.',
        'Correct the turnover, the distance or the dead-ball spot.',
      )
    : undefined;
};

const kicks: Check = (play) => {
  const { kind, firstTouching, kickTouchedBy: touched, kickCrossed, kickResult } = play;
  if (firstTouching && (touched === 'nobody' || touched === 'receiving team')) {
    return but(
      'kickTouchedBy',
      `First touching by the kicking team, but the kick was touched by ${touched === 'nobody' ? 'nobody' : 'the receiving team'}.`,
      'Correct who touched the kick, or the first touching.',
    );
  }
  const inTheField = kickResult !== undefined && kickResult !== 'touchback';
  if (kind === 'punt' && firstTouching === false && touched === 'kicking team' && inTheField) {
    return but(
      'firstTouching',
      'Only the kicking team touched the punt beyond the neutral zone, but there was no first touching.',
      'Correct who touched the kick, or the first touching.',
    );
  }
  const beyond = touched !== undefined && touched !== 'nobody';
  if (kickCrossed === false && kind !== 'free kick' && (beyond || kickResult === 'fair catch')) {
    return but(
      'kickCrossed',
      `The kick did not cross the neutral zone, but it was ${beyond ? 'touched' : 'fair caught'} beyond it.`,
      'Correct whether the kick crossed the neutral zone.',
    );
  }
  if (kickResult === 'out of bounds' && play.outOfBounds === false) {
    return but(
      'outOfBounds',
      'The kick went out of bounds, but the ball was not dead there.',
      'Correct either of them.',
    );
  }
  return undefined;
};

const sideline: Check = (play) => {
  const { kind, outOfBounds, endSide, endSpot, yardsFromSideline, passResult } = play;
  const carried =
    kind === 'run' || (kind === 'pass' && passResult !== undefined && passResult !== 'incomplete');
  if (!outOfBounds || (kind === 'pass' && !carried)) return undefined;
  // Over the end line a ball goes out in the middle, too.
  const inTheField = endSpot === undefined ? carried && play.score === 'none' : onTheField(endSpot);
  if (endSide === 'middle' && inTheField) {
    return but(
      'endSide',
      'Out of bounds, but dead in the middle of the field.',
      'Write the side it went out on, or say that it was in bounds.',
    );
  }
  if (yardsFromSideline !== undefined && yardsFromSideline > 0) {
    return but(
      'yardsFromSideline',
      `Out of bounds, but dead ${yardsFromSideline} inside the sideline.`,
      'Write 0, or say that it was in bounds.',
    );
  }
  return undefined;
};

/** What stopped the clock, and the fact that then cannot say that it did not happen. */
const stops: readonly {
  stop: NonNullable<Play['clockStoppedFor']>;
  fact: Fact;
  not: (play: Play) => boolean;
}[] = [
  {
    stop: 'incomplete pass',
    fact: 'passResult',
    not: ({ passResult: p }) => p !== undefined && p !== 'incomplete',
  },
  { stop: 'out of bounds', fact: 'outOfBounds', not: (play) => play.outOfBounds === false },
  { stop: 'score', fact: 'score', not: (play) => play.score === 'none' },
  { stop: 'foul', fact: 'fouls', not: (play) => play.fouls?.length === 0 },
  { stop: 'team time-out', fact: 'timeout', not: (play) => play.timeout === 'none' },
  { stop: 'injury', fact: 'injury', not: (play) => play.injury === false },
  { stop: 'helmet off', fact: 'helmetOff', not: (play) => play.helmetOff === false },
  { stop: 'measurement', fact: 'measured', not: (play) => play.measured === false },
  { stop: 'review', fact: 'replay', not: (play) => play.replay === 'none' },
];
/** What stops a clock as the ball is dead: another reason may stop one that ran on at first. */
const stopsAtOnce: readonly Play['clockStoppedFor'][] = [
  'incomplete pass',
  'out of bounds',
  'first down',
  'score',
  'change of possession',
];

const clock: Check = (play, code) => {
  const { clockAfter, clockStoppedFor: stop } = play;
  if (stop !== undefined && clockAfter === 'running' && stopsAtOnce.includes(stop)) {
    return but(
      'clockAfter',
      `The clock ran on after the play, but was stopped for ${stop}.`,
      'Correct the clock after the play, or what stopped it.',
    );
  }
  if (stop === 'none' && play.clockStoppedBy !== undefined) {
    return but(
      'clockStoppedBy',
      `Nothing stopped the clock, but the ${play.clockStoppedBy} did.`,
      'Say what stopped it, or take away who did.',
    );
  }
  const denied = stops.find((one) => one.stop === stop && one.not(play))?.fact;
  const noPass = stop === 'incomplete pass' && play.kind !== 'pass' && play.kind !== 'try';
  const deniedBy = denied ?? (noPass ? 'kind' : undefined);
  if (deniedBy) {
    return but(
      'clockStoppedFor',
      `The clock was stopped for ${stop}, but ${isIn(play, deniedBy)}.`,
      'Correct either of them.',
    );
  }
  if (play.tenSecondRunoff && !codeFacts[code].tenSecondRunoff) {
    return but('tenSecondRunoff', `The ${code} code has no ten-second runoff.`, 'Say no to it.');
  }
  return undefined;
};

/** Facts that tell more of another, which says that there was nothing to tell of. */
const details: readonly { fact: Fact; of: Fact; denied: readonly unknown[] }[] = [
  { fact: 'looseBallSpot', of: 'looseBall', denied: ['none'] },
  { fact: 'looseBallSide', of: 'looseBall', denied: ['none'] },
  { fact: 'recoveredBy', of: 'looseBall', denied: ['none'] },
  { fact: 'motionFrom', of: 'motion', denied: ['none'] },
  { fact: 'timeoutBy', of: 'timeout', denied: ['none', 'official'] },
];

const detailsOfNothing: Check = (play) => {
  const found = details.find(({ fact, of, denied }) => play[fact] !== undefined && denied.includes(play[of]));
  if (found) {
    return but(
      found.fact,
      `${capital(isIn(play, found.fact))}, but ${isIn(play, found.of)}.`,
      `Take it away, or correct the ${factNames[found.of]}.`,
    );
  }
  return play.helmetOffByFoul && play.helmetOff === false
    ? but(
        'helmetOffByFoul',
        'A helmet came off by a foul, but no helmet came off.',
        'Correct either of them.',
      )
    : undefined;
};

const checks: readonly Check[] = [
  distanceBeyondTheGoal,
  deadBeyondTheField,
  clockOverTheQuarter,
  scoreAndSpot,
  scoreAndKind,
  kickAndScore,
  factsOfAnotherKind,
  passes,
  turnovers,
  kicks,
  sideline,
  clock,
  detailsOfNothing,
];

/** What one play says against itself. */
export const withinAPlay = (play: Play, code: Code): Found[] =>
  checks.map((check) => check(play, code)).filter((found) => found !== undefined);
