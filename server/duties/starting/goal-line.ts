import { deepWings, everybody, wings, withDeepWings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const goalLine: StartingDuty[] = [
  {
    key: 'goal-line-at-the-snap',
    title: 'On the goal line at the snap',
    expected: 'get to the goal line at the snap and rule from there',
    positions: wings,
    allOf: ['snap-near-goal-line'],
    weight: 3,
    guidance:
      'At or inside the 5 the plane comes before the line of scrimmage, and it is ruled only from the plane. Go at the snap along the outside of the sideline, without crossing over your feet, and stand still when the runner arrives. Look along the line for the ball, not for the body.',
  },
  {
    key: 'come-back-out-when-short',
    title: 'Come back out to the spot when short',
    expected: 'come back out from the goal line to the spot when the runner is short',
    positions: wings,
    who: 'who has the spot',
    allOf: ['snap-near-goal-line', 'dead-short-of-goal-line'],
    unless: ['pass-incomplete'],
    weight: 2,
    guidance:
      'Dead-ball signal first, then out along the sideline to the yard line and square in. Coming out shows everybody that you saw the runner short. Standing on the goal line invites the question and leaves the ball without a spot.',
  },
  {
    key: 'give-ground-on-the-goal-line',
    title: 'Stay on the goal line and give ground along it',
    expected:
      'stay on the goal line and give ground outward along it when the play comes straight at them, safety first',
    positions: wings,
    who: 'on the play side',
    allOf: ['goal-line-play-at-the-wing'],
    weight: 3,
    guidance:
      'Your own safety comes first: step back along the goal line, two or three yards outside the sideline, and let the play pass in front of you. Keep the pylon and the plane in view, with your weight on the back foot. No ruling is worth a knee.',
  },
  {
    key: 'reverse-goal-line',
    title: 'Break back on the reverse goal line',
    expected: "break back toward the offense's own goal line at the snap, ready to rule on a safety",
    positions: wings,
    allOf: ['snap-near-own-goal-line', 'run-or-pass'],
    weight: 3,
    guidance:
      'With the snap at or inside the 5 the line that can cost two points is behind you: go there first. Two or three quick steps back along the sideline at the snap, then stop and look along the goal line. When the ball comes out past the old line, go with it.',
  },
  {
    key: 'rule-on-the-safety',
    title: 'Rule on the safety from the goal line',
    expected: 'be on the goal line and rule on the safety when the ball is dead near or behind it',
    positions: ['referee', ...wings],
    who: 'who rules the safety',
    allOf: ['safety-in-question'],
    weight: 3,
    guidance:
      'Wing: on the goal line, looking along it for all of the ball. Referee: on a sack you see the knee and the ball, so tell the wing what you have. Forward progress decides; find where the ball was when it stopped before you look where the pile is.',
    cites: 'safety',
  },
  {
    key: 'touchdown-signal-from-who-saw-it',
    title: 'Signal a touchdown only when seen',
    expected:
      'signal the touchdown from the goal line only when the ball is seen over the plane, and hold it long enough to be seen',
    positions: everybody,
    who: 'who rules the touchdown',
    allOf: ['goal-line-in-question'],
    weight: 2,
    guidance:
      'Find the ball in an arm, over the plane, before it is dead; then raise both arms and stand. Hold it two seconds and turn to the players. Never mirror what you did not see: one who saw it is enough.',
    cites: 'touchdown',
  },
  {
    key: 'end-line-on-goal-line-snaps',
    title: 'Take the end line',
    expected:
      'take the end line on a snap near the goal line, ready for feet and ball at the back of the end zone',
    positions: ['back judge'],
    crewSizes: [5, 6, 7, 8],
    instead: [{ crewSize: 6, positions: deepWings }],
    allOf: ['snap-near-goal-line'],
    weight: 1,
    guidance:
      'Start on the end line, a step outside it, and stay there: you cannot back up to it with your eyes on a receiver. On a throw to the back look at the feet first, then at the ball and the hands. The goal posts stand beside you; know where before you move.',
  },
  {
    key: 'pylon-on-goal-line-snaps',
    title: 'Take the pylon',
    expected: 'have the pylon and the sideline of the end zone on a snap near the goal line',
    positions: [...wings, ...deepWings],
    crewSizes: withDeepWings,
    who: 'who has the back pylon',
    allOf: ['snap-near-goal-line'],
    weight: 2,
    guidance:
      'Say before the snap who has the plane and who has the feet at the pylon. Stand off it, two yards outside, looking back along the sideline. A ball over the pylon is in; a foot on the line before it is not.',
    cites: 'touchdown',
  },
];
