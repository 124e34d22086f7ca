import type { DutyCategory } from '../server/rubric/duty.ts';

/** Short invented remarks of observers, by category of duty, on something missed or called wrong. */
export const missedRemarks: Readonly<Record<DutyCategory, readonly string[]>> = {
  spotting: [
    'Came in from an angle and lost about half a yard.',
    'Spot held from memory; feet were still moving.',
    'Turned to the chains before squaring to the field.',
    'Ran straight at the ball, never at the spot.',
    'Late to the spot; the other wing had to sell it.',
  ],
  'ending the play': [
    'No arm up; the play-clock operator waited for it.',
    'Whistle came, signal did not.',
    'Quiet end to the play, two players kept pushing.',
    'Signal held for a blink only.',
    'Clock ran on; nobody stopped it for three seconds.',
  ],
  'goal line': [
    'Still two yards short of the goal line when the ball got there.',
    'Stayed on the line too long and came back late to the spot.',
    'Ruled from behind the runner.',
    'Gave no ground and had to jump clear.',
  ],
  passes: [
    'Left the line at the throw, nobody there to judge the depth of the catch.',
    'Drifted downfield with the first receiver.',
    'No signal on the ball thrown behind the passer.',
    'Looked at the passer, not at the receiver, as the ball came.',
    'Ruled from fifteen yards away, could have been at five.',
  ],
  'runs and backfield': [
    'Turned with the ball; the late block behind was nobody’s.',
    'Followed the runner and gave up the quarterback.',
    'Caught inside, had to step over a pile.',
    'Did not read the pressure, ground given too late.',
  ],
  kicks: [
    'Behind the returner by his fifteen.',
    'Bag stayed in the belt on first touching.',
    'Watched the ball in the air instead of the gunners.',
    'No wind-up signal at the first touch.',
  ],
  'sideline and dead ball': [
    'Turned for a new ball while two players were still talking.',
    'Eyes followed the ball out of bounds, not the players.',
    'Posed with the signal; players behind had words.',
    'Nobody went with the runner into the bench area.',
    'Ran through the players rather than stopping short of them.',
  ],
  'loose ball': [
    'No bag down at the fumble.',
    'Stood over the pile; possession took long to find.',
    'Pointed before the ball was seen.',
  ],
  'fouls and administration': [
    'Report rushed; the referee had to ask again.',
    'Foul announced without the team.',
    'Penalty walked off before the choice was confirmed.',
    'Flag thrown high and late.',
    'Play clock stood at 40, should have been 25.',
  ],
  conduct: [
    'Answered a coach with his back turned.',
    'Restricted area not cleared before the snap.',
    'Showed annoyance after the second question.',
  ],
  calls: [
    'Film shows no restriction here.',
    'Ball came loose before the knee was down.',
    'Grasp was on the collar of the shirt, not inside it; pass on this.',
    'Block was from the side on film.',
    'Receiver had one foot on the line.',
    'Clear pull from behind at the point of attack, not called.',
  ],
};

export const modelRemarks: readonly string[] = [
  'Worth showing to the others.',
  'Textbook position, all the way through.',
  'Calm, quick and right.',
  'Exactly how we teach it.',
  'Saw it early and was there before the ball.',
];

export const notSeenRemarks: readonly string[] = [
  'Blocked by the bench.',
  'Film angle ends at the numbers.',
  'Was watching the other side.',
  '',
];

export const rightRemarks: readonly string[] = [
  'Tight one, right on film.',
  'Good no-call, both playing the ball.',
  'Right, and sold well.',
];

export const generalRemarks: readonly string[] = [
  'A clean game with a good pace. The crew talked to each other all night.',
  'Windy and loud; administration stayed tidy.',
  'Second half better than the first, above all at the sidelines.',
  'Two long reviews of spots, both handled calmly.',
  'Close game, high temper, steady crew.',
  '',
];
