import type { Fact } from '../../football/play.ts';
import { standing } from '../../football/zones/free-kicks.ts';
import {
  atTheLineOnTheSnap,
  deepOnTheReturnSide,
  goalLineOnAKick,
  whoHasTheReturner,
  whoSeesTheRoom,
  whoSeesTheTouching,
  zoneOfTheKick,
} from '../../football/zones/kicks.ts';
import { isAmong } from '../../football/zones/place.ts';
import type { Selector } from './selector.ts';

const kicks = ['kickSide', 'kind', 'spot', 'endSide'] as const satisfies Fact[];

export const byKick = [
  {
    key: 'who has the goal line on a kick',
    label: "the one who has the receiving team's goal line on a kick",
    clause: "who has the receiving team's goal line",
    reads: kicks,
    selects: (position, play, crew) => isAmong(goalLineOnAKick(play, crew), position),
  },
  {
    key: 'who has the returner',
    label: 'the one who has the player waiting for the kick',
    clause: 'who has the returner',
    reads: kicks,
    selects: (position, play, crew) => isAmong(whoHasTheReturner(play, crew), position),
  },
  {
    key: 'who sees the room of the returner',
    label: 'those who see whether the player waiting for a kick has room',
    clause: 'who sees the room of the returner',
    reads: kicks,
    selects: (position, play, crew) => isAmong(whoSeesTheRoom(play, crew), position),
  },
  {
    key: 'where the kick is touched first',
    label: 'the one in whose zone a kick is first touched: at the line on a short free kick, else deep',
    clause: 'in whose zone the kick is touched',
    reads: ['onside', ...kicks],
    selects: (position, play, crew) => isAmong(zoneOfTheKick(play, crew), position),
  },
  {
    key: 'who sees the touching of the kick',
    label: "those at the receiving team's line on a short free kick, else the one who is deep",
    clause: 'who sees the kick touched',
    reads: ['onside', ...kicks],
    selects: (position, play, crew) => isAmong(whoSeesTheTouching(play, crew), position),
  },
  {
    key: 'who is at the line',
    label: 'those at the line of scrimmage at the snap: neither deep on a punt nor under the uprights',
    clause: 'at the line of scrimmage',
    reads: ['kind', 'tryBy'],
    selects: (position, play, crew) => isAmong(atTheLineOnTheSnap(play, crew), position),
  },
  {
    key: 'who is deep on the return side',
    label: 'the one deep on the side to which a free kick is returned',
    clause: 'deep on the side of the return',
    reads: ['playSide'],
    selects: (position, play, crew) => isAmong(deepOnTheReturnSide(play, crew), position),
  },
  {
    key: "who stands at the kicking team's line",
    label: "those at the kicking team's restraining line on a free kick",
    clause: "at the kicking team's line",
    reads: [],
    selects: (position, _play, crew) => standing("at the kicking team's line", crew).includes(position),
  },
  {
    key: "who stands at the receiving team's line",
    label: "those at the receiving team's restraining line on a free kick",
    clause: "at the receiving team's line",
    reads: [],
    selects: (position, _play, crew) => standing("at the receiving team's line", crew).includes(position),
  },
  {
    key: 'who stands at a restraining line',
    label: 'those at either restraining line on a free kick',
    clause: 'at a restraining line',
    reads: [],
    selects: (position, _play, crew) => !standing('deep', crew).includes(position),
  },
  {
    key: 'who stands deep on a free kick',
    label: 'those deep with the receivers on a free kick',
    clause: 'deep with the receivers',
    reads: [],
    selects: (position, _play, crew) => standing('deep', crew).includes(position),
  },
] as const satisfies Selector[];
