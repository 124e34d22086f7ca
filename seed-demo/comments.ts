import type { Duty, DutyCategory } from '../server/duties/duty.ts';

/** Short invented remarks that fit any duty of a category: what an observer writes beside something not done well. */
const byCategory: Readonly<Record<DutyCategory, readonly string[]>> = {
  spotting: [
    'Came in from an angle and lost about half a yard.',
    'Feet were still moving when the spot was given.',
    'Looked at the chains first, then at the ball.',
    'Late by two steps; the other wing had to help.',
  ],
  'ending the play': [
    'Hard to see from here that the play was over.',
    'Late by a full second.',
    'Quiet; players went on pushing.',
    'Right idea, held for a blink only.',
  ],
  'goal line': [
    'Two yards out of position when the ball got there.',
    'Ruled from behind the runner.',
    'Late to move; had to hurry the ruling.',
  ],
  passes: [
    'Eyes went to the ball too early.',
    'Fifteen yards away, could have been at five.',
    'Left the area before the play did.',
    'Was looking through players.',
  ],
  'runs and backfield': [
    'Turned with the ball and lost the players behind it.',
    'Caught inside, had to step over a pile.',
    'A step late in reading it.',
  ],
  kicks: [
    'Watched the ball in the air instead of the players.',
    'Out of position for the return.',
    'A step late from the start.',
  ],
  'sideline and dead ball': [
    'Turned away while two players were still talking.',
    'Eyes followed the ball, not the players.',
    'Left it to the others, who were further off.',
  ],
  'loose ball': [
    'Stood over it; took long to sort out.',
    'Came from the wrong side of the pile.',
    'Hurried; the ball was not yet seen.',
  ],
  'fouls and administration': [
    'Rushed; had to be done a second time.',
    'Took long and the crowd got restless.',
    'Left a colleague to do it.',
  ],
  conduct: [
    'Answered with his back turned.',
    'Let it go on too long.',
    'Showed annoyance after the second question.',
  ],
  calls: [
    'Film shows otherwise.',
    'Screened on this; the angle has to change.',
    'Ruled too soon, before the whole play was seen.',
  ],
};

/** Remarks that fit one duty only. */
const byDuty: Readonly<Record<string, readonly string[]>> = {
  'dead-ball-signal': ['No arm up; the play-clock operator waited for it.', 'Whistle came, signal did not.', 'Arm at the hip, nobody upstairs could see it.'],
  'stop-the-clock': ['Clock ran on for three seconds after the ball was out.', 'One quick wave; the clock operator missed it.'],
  'wind-it-in-bounds': ['Did not wind; the operator stopped the clock for a moment.', 'Wound it late, after a look at the bench.'],
  'whistle-only-when-seen-dead': ['Whistle on a guess; the ball was behind a body.', 'Blew as the runner was still turning.'],
  'shut-the-play-down': ['No voice, no whistle; one late shove followed.', 'Whistle from far away, players did not hear it.'],
  'incomplete-signal': ['Signalled from thirty yards; the near official had it.', 'No signal from the official who saw it.'],
  'square-up-at-the-spot': ['Ran straight at the ball, never squared at the spot.', 'Came in at a slant from behind the runner.'],
  'hold-progress-with-the-feet': ['Walked off the spot to look at the players.', 'Spot moved back with the pile.'],
  'stay-outside-the-sideline': ['A yard inside the field when the run came.', 'Had to jump back over the sideline.'],
  'mirror-the-spot': ['Never came in; the ball sat half a yard short.', 'Gave a different foot than the other wing and did not give way.'],
  'place-the-ball-promptly': ['Ball set down before the spot was given.', 'Eight seconds before the ball was down.'],
  'goal-line-at-the-snap': ['Still at the line of scrimmage when the runner reached the goal line.', 'Left for the goal line after the snap, not at it.', 'A yard short of the goal line at the ruling.'],
  'come-back-out-when-short': ['Stayed on the goal line; spot came from the umpire.', 'Came out late and from memory.'],
  'give-ground-on-the-goal-line': ['Gave no ground and had to jump clear.', 'Backed off into the end zone instead of along the line.'],
  'reverse-goal-line': ['Stayed at the snap; nobody was on the goal line behind the quarterback.', 'Broke back late, after the sack.'],
  'pylon-on-goal-line-snaps': ['Five yards in front of the pylon at the snap.', 'Left the pylon to follow a receiver.'],
  'end-line-on-goal-line-snaps': ['In front of the end line when the pass came.', 'Ruled feet from ten yards.'],
  'hold-at-the-line': ['Left the line at the throw; nobody there to judge the depth of the catch.', 'Drifted downfield with the first receiver.'],
  'rule-behind-or-beyond': ['Was already five yards down; could only guess.', 'No help to the referee on where it was caught.'],
  'signal-the-backward-pass': ['No signal on the ball thrown behind the passer.', 'Signal came after the ball was loose.'],
  'stay-with-the-passer-after-the-throw': ['Turned to follow the ball; the late hit behind was nobody’s.', 'Eyes downfield before the passer was safe.'],
  'read-the-release-of-receivers': ['Watched the snap, not the receiver; early contact not seen.', 'Both looked at the same receiver.'],
  'ineligibles-downfield': ['Guard four yards down at the throw, not noticed.', 'Eyes on the rush the whole way.'],
  'keep-the-cushion': ['Beaten deep by the receiver.', 'Stood still until the receiver was level.'],
  'both-officials-on-the-catch': ['Two different signals on the same catch.', 'Signalled without a look at the other official.'],
  'quarterback-to-the-neutral-zone': ['Let go of the quarterback before the line.', 'Stayed in the pocket after he had left it.'],
  'pick-up-the-running-quarterback': ['Nobody took the quarterback at the line.', 'Picked up the runner ten yards late.'],
  'blocks-behind-the-line': ['Followed the ball; the chop behind was not seen.', 'Eyes downfield at once.'],
  'give-ground-under-pressure': ['Gave ground too late and was part of the play.', 'Did not read the pressure.'],
  'sideline-downfield-on-long-runs': ['Trailed the runner by ten yards.', 'Cut across the field and lost the sideline.'],
  'free-kick-sideline': ['Started five yards from his place on the sideline.', 'Left the sideline with the ball on the other side.'],
  'free-kick-ahead-of-the-runner': ['Behind the returner by his thirty.', 'Waited for the runner instead of leading him.'],
  'bag-first-touching': ['Bag stayed in the belt on first touching.', 'Dropped the bag five yards off.'],
  'covering-the-returner': ['Twenty yards behind the returner at the catch.', 'Looked up at the ball with the gunners closing in.'],
  'onside-kick-lines': ['Off his line at the kick; touching had to be guessed.', 'No bag ready.'],
  'punter-protection': ['Turned with the ball; the kicker went down behind him.', 'Left the kicker as the foot came through.'],
  uprights: ['Two signals, a second apart.', 'Looked at each other after the signal, not before.'],
  'eyes-on-players-out-of-bounds': ['Eyes followed the ball out of bounds, not the players.', 'Nobody went with the runner into the bench area.'],
  'wait-before-turning-for-a-ball': ['Turned for a new ball while two players were still talking.', 'Arm up for the ball boy before the pile was off.'],
  'watch-players-after-a-score': ['Posed with the signal; players behind had words.', 'Watched the celebration from thirty yards.'],
  'stop-before-the-players': ['Ran into the middle of it and saw half.', 'Ran past the pile.'],
  'nearest-others-clean-up': ['Stood and watched; the wing was alone with five players.', 'Nobody came to help dig it out.'],
  'bean-bag-at-the-fumble': ['No bag down at the fumble.', 'Bag thrown at the recovery, not at the fumble.'],
  'dig-for-possession': ['Stood over the pile; possession took long to find.', 'Pulled players off before looking for the ball.'],
  'report-the-foul': ['Report rushed; the referee had to ask again.', 'No number, no spot.', 'Reported across twenty yards by signal.'],
  'announce-every-foul': ['Foul announced without the team.', 'Only the first of two fouls announced.', 'Yardage left out.'],
  'confirm-the-choice': ['Penalty marked off before the choice was confirmed.', 'Decided for the captain.'],
  'walk-off-the-penalty': ['Eleven yards on a ten-yard penalty.', 'Went from the wrong spot and had to come back.'],
  'declined-signal': ['No signal that the penalty was declined.'],
  'hold-the-enforcement-spot': ['Left the spot to listen in.', 'Spot lost; taken from the other wing.'],
  'helmet-off': ['Player stayed in the game.', 'Play clock left at 40.'],
  'play-clock-to-twenty-five': ['Play clock stood at 40, should have been 25.', 'Ready came with the play clock still blank.'],
  'restricted-area-clear': ['Coach two steps inside the white at the snap.', 'No word to the bench before the snap.'],
  'composure-with-coaches': ['Answered with his back turned.', 'Argued back; one sentence would have done.'],
  'ready-for-the-hurry-up': ['Facing the bench when the ball was snapped.', 'Still carrying the bag at the snap.'],
  'watch-the-play-clock': ['Zero was up a full second before the flag should have been.', 'Eyes on receivers at zero.'],
  'call-the-fouls-reported': ['Film shows no restriction here.', 'Marginal contact, no advantage; a conversation would do.', 'The arm was inside, this is a legal block.'],
  'call-line-fouls-at-the-snap': ['Left tackle moved a beat early, not called.', 'End lined up in the neutral zone all series.'],
  'call-holding-at-the-line': ['Clear pull from behind at the point of attack, not called.', 'Takedown in front of the runner.'],
  'call-holding-on-the-edge': ['Receiver held the corner at the edge, runner went right by.', 'Arm around the outside shoulder, not called.'],
  'call-pass-interference': ['Early contact with the ball in the air, not called.', 'Arm hooked before the ball came.'],
  'call-hits-on-the-passer': ['Two full steps after the throw, not called.', 'Contact to the head, not called.'],
  'call-grounding': ['Nobody within fifteen yards, passer inside the tackles.', 'Ball landed short of the line.'],
  'call-catch-or-no-catch': ['Ball touched the ground on film.', 'Two feet and a turn: a catch and a fumble.'],
  'call-fumble-or-down': ['Ball came loose before the knee was down.', 'Knee was down first, by a good deal.'],
  'call-touchdown': ['Knee down at the one.', 'Ball broke the plane before he was pushed back.'],
  'call-the-spot': ['Spot a yard long.', 'Half a yard short on film, third down too.', 'Knee was down before the reach.'],
  'call-in-or-out': ['Heel on the line on film.', 'Called out, was in by a shoe.'],
  'call-the-line-to-gain': ['Given as reached; it was a foot short.', 'Needed the chains.'],
  'call-blocks-on-returns': ['Block in the back at the thirty, not called.', 'Block below the waist right in front of him.'],
  'call-kick-catch-interference': ['Gunner arrived with the ball, not called.'],
  'call-hits-on-the-kicker': ['Plant leg taken, not called.'],
  'call-late-hits': ['Shove two steps out of bounds, not called.', 'Dive on the pile after the whistle, not called.'],
  'call-the-uprights': ['Ball passed outside the left upright.'],
}; // biome-ignore format: remarks read better in rows

/** What may be written beside a duty that was not met. */
export function remarksOn(duty: Pick<Duty, 'key' | 'category'>): readonly string[] {
  return byDuty[duty.key] ?? byCategory[duty.category];
}

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

export const rightCallRemarks: readonly string[] = [
  'Tight one, right on film.',
  'Right, and sold well.',
  'Patient: saw all of it, then ruled.',
];

export const rightNoCallRemarks: readonly string[] = [
  'Good no-call, both playing the ball.',
  'Contact, but no advantage. Right to pass on it.',
  'Looked bad from the stands, clean on film.',
];

export const generalRemarks: readonly string[] = [
  'A clean game with a good pace. The crew talked to each other all night.',
  'Windy and loud; administration stayed tidy.',
  'Second half better than the first, above all at the sidelines.',
  'Two long looks at spots, both handled calmly.',
  'Close game, high temper, steady crew.',
  '',
];
