import { mirrorPosition } from '../../football/crews.ts';
import type { Fact } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import { not } from '../../football/three-valued.ts';
import type { CrewOnField } from '../../football/zones/crew-on-field.ts';
import {
  helpersWhereDead,
  sidelineOfficial,
  sideOfSpotsInTheMiddle,
  spotOwner,
  whoMayHaveEnded,
  zoneOfTheDeadBall,
} from '../../football/zones/ending.ts';
import { goalLineOfficials, rulesTheSafety, touchdownOfficials } from '../../football/zones/goal-lines.ts';
import { isAmong, isTheOneOf } from '../../football/zones/place.ts';
import {
  whereThePassComesDown,
  whoSawItComeLoose,
  zoneOfTheLooseBall,
  zoneOfThePass,
} from '../../football/zones/ruling.ts';
import type { Selector } from './selector.ts';

// A fact that prevails over the others comes first: the search for an example tries it first.
const place = ['kind', 'spot', 'endSpot', 'endSide', 'kickResult'] as const satisfies Fact[];
const ends = ['endedBy', ...place, 'passResult', 'catchDepth', 'playSide'] as const satisfies Fact[];
const spot = [...place, 'passResult', 'score'] as const satisfies Fact[];
const passes = ['snapFor', 'spot', 'catchDepth', 'playSide'] as const satisfies Fact[];
const loose = ['kind', 'spot', 'passResult', 'looseBallSpot', 'looseBallSide'] as const satisfies Fact[];

/**
 * The official across the field at the same depth. A spot that the back judge has in the middle is taken to the
 * sideline by the deep official of the side that the conference names for spots in the middle.
 */
function mirrorsTheSpot(owner: Position, position: Position, crew: CrewOnField): boolean {
  if (owner === 'back judge') return position === crew.deepWing[sideOfSpotsInTheMiddle(crew)];
  return owner !== mirrorPosition(owner) && position === mirrorPosition(owner) && crew.present.has(position);
}

export const byZone = [
  {
    key: 'in whose zone the ball is dead',
    label: 'those in whose zone the ball is dead (all who share the middle)',
    clause: 'in whose zone the ball is dead',
    reads: place,
    selects: (position, play, crew) => isAmong(zoneOfTheDeadBall(play, crew), position),
  },
  {
    key: 'who ends the play',
    label: 'the one who ends the play',
    clause: 'who ends the play',
    reads: ends,
    selects: (position, play, crew) => isTheOneOf(whoMayHaveEnded(play, crew), position),
  },
  {
    key: 'who does not end the play',
    label: 'the others, who do not end the play',
    clause: 'who does not end the play',
    reads: ends,
    selects: (position, play, crew) => not(isTheOneOf(whoMayHaveEnded(play, crew), position)),
  },
  {
    key: 'who has the spot',
    label: 'the one whose spot it is, whoever whistles',
    clause: 'who has the spot',
    reads: spot,
    selects(position, play, crew) {
      const owner = spotOwner(play, crew);
      return owner === 'unknown' ? 'unknown' : owner === position;
    },
  },
  {
    key: 'who does not have the spot',
    label: 'the others, whose spot it is not',
    clause: 'who does not have the spot',
    reads: spot,
    selects(position, play, crew) {
      const owner = spotOwner(play, crew);
      return owner === 'unknown' ? 'unknown' : owner !== position;
    },
  },
  {
    key: 'who mirrors the spot',
    label: 'the one across the field from who has the spot',
    clause: 'across the field from who has the spot',
    reads: spot,
    selects(position, play, crew) {
      const owner = spotOwner(play, crew);
      if (owner === 'unknown') return 'unknown';
      return owner !== 'nobody' && mirrorsTheSpot(owner, position, crew);
    },
  },
  {
    key: 'who has the sideline',
    label: 'the one on the sideline where the ball is dead, at that depth',
    clause: 'on that sideline where the ball is dead',
    reads: place,
    selects: (position, play, crew) => isAmong(sidelineOfficial(play, crew), position),
  },
  {
    key: 'who comes to help where the ball is dead',
    label: 'the next official to where the ball is dead: the other one of that side, or those at the ball',
    clause: 'next to where the ball is dead',
    reads: place,
    selects: (position, play, crew) => isAmong(helpersWhereDead(play, crew), position),
  },
  {
    key: 'the referee and who ends the play',
    label: 'the referee, and the one who ends the play',
    clause: 'who is the referee or ends the play',
    reads: ends,
    selects: (position, play, crew) =>
      position === crew.behindMiddle || isTheOneOf(whoMayHaveEnded(play, crew), position),
  },
  {
    key: 'who rules the pass',
    label: 'the one who rules on the pass where it is caught or touched',
    clause: 'who rules on the pass',
    reads: ['ruledBy', ...passes],
    selects: (position, play, crew) => isTheOneOf(zoneOfThePass(play, crew), position),
  },
  {
    key: 'in whose zone the pass comes down',
    label: 'those in whose zone the pass is caught or touched (all who share the middle)',
    clause: 'in whose zone the pass comes down',
    reads: passes,
    selects: (position, play, crew) => isAmong(whereThePassComesDown(play, crew), position),
  },
  {
    key: 'who rules the loose ball',
    label: 'the one who rules on the ball that comes loose',
    clause: 'who rules on the loose ball',
    reads: ['ruledBy', ...loose],
    selects: (position, play, crew) => isTheOneOf(zoneOfTheLooseBall(play, crew), position),
  },
  {
    key: 'where the ball came loose',
    label: 'the one in whose zone the ball came loose; of several who share it, who ruled on it',
    clause: 'in whose zone the ball came loose',
    reads: ['ruledBy', ...loose],
    selects: (position, play, crew) => isTheOneOf(whoSawItComeLoose(play, crew), position),
  },
  {
    key: 'who has the goal line',
    label: "the one who has the defense's goal line where the ball is dead (both in the middle)",
    clause: 'who has the goal line there',
    reads: ['spot', 'endSide'],
    selects: (position, play, crew) => isAmong(goalLineOfficials(play, crew), position),
  },
  {
    key: 'who rules the touchdown',
    label: 'the one who rules on the touchdown (both in the middle)',
    clause: 'who rules on the touchdown',
    reads: ['ruledBy', 'kind', 'tryBy', 'spot', 'endSpot', 'passResult', 'catchDepth', 'playSide', 'endSide'],
    selects: (position, play, crew) => isAmong(touchdownOfficials(play, crew), position),
  },
  {
    key: 'who rules the safety',
    label:
      'the wing who rules on the safety, with the referee on a sack, in the middle and on a blocked kick',
    clause: 'who rules on the safety',
    reads: ['ruledBy', 'kind', 'passResult', 'endSide'],
    selects: (position, play, crew) => rulesTheSafety(play, position, crew),
  },
  {
    key: 'who has the back pylon',
    label: 'those who have the pylons on snaps at or inside the 5, as the conference works it',
    clause: 'who has the pylon there',
    reads: [],
    selects(position, _play, crew) {
      const by = crew.practices.pylonsInsideTheFive === 'wings' ? crew.wing : crew.deepWing;
      return Object.values(by).includes(position);
    },
  },
] as const satisfies Selector[];
