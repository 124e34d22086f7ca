import type { DutyInput } from '../duty.ts';
import { allSizes, everybody } from './crew-groups.ts';

export const foulsAndAdministration: DutyInput[] = [
  {
    key: 'report-the-foul',
    title: 'Report the foul calmly',
    category: 'fouls and administration',
    expected:
      'have the flag down and report to the referee calmly, by radio where one is used rather than by signal',
    positions: everybody,
    crewSizes: allSizes,
    who: 'who reports the foul',
    allOf: ['foul-called'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance: 'Foul, team, number, live or dead ball, and where it ends. Walk, breathe, say it once.',
  },
  {
    key: 'announce-every-foul',
    title: 'Announce every foul in order',
    category: 'fouls and administration',
    expected: 'announce all fouls in order with team and yardage',
    positions: ['referee'],
    crewSizes: allSizes,
    allOf: ['foul-called'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance: 'Everybody in the stadium should be able to say what happened and where the ball goes next.',
  },
];
