import { deepWings, everybody, wings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const conduct: StartingDuty[] = [
  {
    key: 'composure-with-coaches',
    title: 'Composure with coaches',
    expected: 'stay composed, listen, answer a question once and go back to work',
    positions: [...wings, ...deepWings],
    who: 'where the ball is dead',
    allOf: ['coach-dispute'],
    weight: 2,
    guidance:
      'Stand beside the coach, looking at the field, and keep your voice low. Short answer, facts only; "I will find out" is an answer. A flag is for what crosses the line, not for noise.',
  },
  {
    key: 'restricted-area-clear',
    title: 'Keep the restricted area clear',
    expected:
      'keep the restricted area clear in live play and have it cleared between downs, for the safety of official and coach',
    positions: wings,
    who: 'on the play side',
    allOf: ['live-ball', 'play-to-a-side'],
    unless: ['place-kick'],
    weight: 2,
    guidance:
      'Look behind you before the snap: two steps back must be free. Ask the coach who keeps the others back by name, early and kindly. You and a coach in one place with a runner coming is how people break legs.',
    cites: 'sideline',
  },
  {
    key: 'sideline-warning',
    title: 'Warn the sideline by the steps',
    expected:
      'ask, warn and penalize a crowded sideline in the order of the rules, and tell the referee each time',
    positions: everybody,
    who: 'who reports the sideline foul',
    allOf: ['sideline-foul-called'],
    weight: 1,
    guidance:
      'First a word between downs, then the warning, then the yards: say which step this is, to the head coach. Report it to the referee so that it is noted for that team. Touching a coach during play is no warning, it is a foul: get clear first.',
    cites: 'sideline',
  },
];
