import * as z from 'zod/mini';
import { type Foul, foulSchema } from './fouls.ts';
import { type Fact, playSchema } from './play.ts';

// What each fact of a play says, for who reads the API's description. Apart from the schemas, since a browser has no use
// for it.

const ofPlays: Readonly<Record<Fact, string>> = {
  kind: 'What kind of down or kick it was; "no snap": the whistle came before the ball was put in play.',
  spot: 'Where the ball was put in play, 0..100.',
  quarter: '1 to 4; 5 and up are overtime periods.',
  clockSeconds: 'Game clock at the snap, seconds left in the quarter.',
  clockAbout:
    'About what the game clock was at the snap, when nobody read it: an estimate in seconds. It decides only what lies far from it; "clockSeconds" prevails.',
  down: '1 to 4.',
  distance: 'Yards to the line to gain at the snap; goal to go when it reaches the goal line.',
  offense: 'Which team snaps or kicks.',
  snapSide: 'Across the field, where the ball was put in play: the hash of that side, or between the two.',
  strongSide: 'The side with more eligible receivers; "middle" when both have as many.',
  shift: 'Two or more players of the offense shifted before the snap.',
  snapFor: 'What the snap was for: a play, or only to run the clock (kneel) or to stop it (spike).',
  hurryUp: 'The offense hurried to the line without a huddle.',
  offenseSubstituted: 'The offense substituted before this snap.',
  motion: 'Where the player in motion went, or "none".',
  motionFrom: 'Where the player in motion came from.',
  playSide: 'Where the run went or the pass was thrown; on a kick, where it was returned.',
  carrier: 'Who ran with the ball.',
  passResult: 'What came of the pass; a sack or a scramble is a pass that was never thrown.',
  catchDepth:
    'Yards from the neutral zone to where a pass was caught or first touched: negative behind, positive beyond.',
  throwDepth:
    "Yards from the neutral zone to the passer's foot at release: negative behind, positive beyond.",
  quickPass: 'Thrown at once, before the receivers are downfield.',
  pressure: 'The passer was under pressure.',
  catchInQuestion: 'Catch or no catch was a close ruling (trapped, juggled, feet at the line).',
  backwardPass: 'A pass was thrown backward.',
  drivenBack: 'The runner was driven back after forward progress was stopped.',
  looseBall: 'How the ball came loose, if it did.',
  fumbleOrDown: 'Fumble or down was a close ruling.',
  looseBallSpot: 'Where a fumble, a muff or a blocked kick came loose; 0..100 in the same frame as "spot".',
  looseBallSide: 'Across the field, where the ball came loose.',
  recoveredBy: 'Which team recovered the loose ball; the kicking team is the offense.',
  pile: 'Players piled on the ball.',
  kickResult: 'What came of the kick.',
  kickTo: 'Where a kick came down or was first touched; 0..100 in the same frame as "spot".',
  kickSide: 'The side the kick came down on; "playSide" is the side it was returned to.',
  kickCrossed: 'The kick crossed the neutral zone.',
  kickTouchedBy: 'Who touched the kick beyond the neutral zone.',
  fairCatchSignal: 'A player of the receiving team gave a fair-catch signal, valid or not.',
  momentum: 'A catch or recovery near the own goal line was carried into the end zone by its own momentum.',
  onside: 'The free kick was meant to be recovered by the kicking team.',
  firstTouching: 'A player of the kicking team touched the kick first, beyond the neutral zone.',
  tryBy: 'How the try was attempted.',
  endSpot:
    'Where the ball was dead, or where forward progress ended, in the same count as spot. Below 0 and above 100 it lies behind a goal line, and is decided as on it; beyond an end line it is kept and told as a contradiction.',
  endSide: 'Across the field, where the ball was dead.',
  outOfBounds: 'The ball was dead out of bounds.',
  endedBy: 'The official who ended the play, when the observer noted it.',
  yardsFromSideline: 'Yards from the nearer sideline to where the ball was dead; 0 on it or out.',
  ruledBy: 'Who gave the ruling that mattered most on the play: catch, fumble or down, touchdown, safety.',
  rulingsDiffered:
    'Two officials first ruled differently (catch, in or out, forward or backward, fumble or down, score).',
  lineToGainInQuestion: 'The spot was so near the line to gain that somebody had to decide.',
  measured: 'The chains were brought out.',
  score: 'What was scored on the play.',
  turnover: 'How the offense lost the ball, if it did.',
  fouls: 'Every foul called; an empty list says that there was none.',
  helmetOff: 'A helmet came off during the play.',
  helmetOffByFoul: "The helmet came off through an opponent's foul.",
  injury: 'Play stopped for an injury.',
  confrontation: 'Opponents confronted each other after the ball was dead.',
  coachDispute: 'A coach disputed a ruling with an official.',
  ejection: 'A player or coach was disqualified.',
  timeout: 'A time-out after the play, and whose kind.',
  timeoutBy: 'Whose team time-out it was.',
  clockAfter: 'Did the game clock run or stand when the ball was dead?',
  clockStoppedFor: 'What stopped the game clock first; "none" when it ran on.',
  clockStoppedBy: 'The official who stopped the clock.',
  clockStartsOn: 'What a stopped clock waits for.',
  tenSecondRunoff:
    'Ten seconds were taken off the clock, or could have been, after a foul, an injury or a review late in a half.',
  inadvertentWhistle: 'An official blew the whistle while the ball was still live.',
  replay: 'Was the ruling reviewed, and what came of it?',
};

const ofFouls: Readonly<Record<keyof Foul, string>> = {
  foul: 'What was called, as holding.',
  by: 'The team at the snap or kick; the kicking team is the offense.',
  reportedBy: 'Who threw the flag.',
  outcome: 'What came of it; "picked up": waved off, no foul.',
  player: 'The number of the player, or who else it was, as coach.',
  moment: 'While the ball was live, or dead.',
  spot: 'Where it happened, 0..100 in the same frame as the spot of the play.',
};

/** Notes them with the schemas, where a description of the API finds them. */
export function describeFacts(): void {
  for (const [fact, description] of Object.entries(ofPlays))
    z.globalRegistry.add(playSchema.shape[fact as Fact], { description });
  for (const [part, description] of Object.entries(ofFouls))
    z.globalRegistry.add(foulSchema.shape[part as keyof Foul], { description });
}
