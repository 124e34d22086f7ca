import type { DutyInput } from '../duty.ts';
import { allSizes, everybody, wings } from './crew-groups.ts';

export const conduct: DutyInput[] = [
  {
    key: 'composure-with-coaches',
    title: 'Composure with coaches',
    category: 'conduct',
    expected: 'stay composed, listen, answer a question once and go back to work',
    positions: everybody,
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['coach-dispute'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'Low voice, short answer, facts only. "I will find out" is an answer. A flag is for what crosses the line, not for noise.',
  },
  {
    key: 'restricted-area-clear',
    title: 'Keep the restricted area clear',
    category: 'conduct',
    expected:
      'keep the restricted area clear in live play and have it cleared between downs, for the safety of official and coach',
    positions: wings,
    crewSizes: allSizes,
    who: 'on the play side',
    allOf: ['live-ball', 'play-to-a-side'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'Look behind you before the snap. Ask the get-back coach by name, early and kindly; you and a coach in one place is how people break legs.',
  },
];
