import type { Position } from '../../../football/positions.ts';
import type { Slot } from '../../../selection/slots.ts';
import { candidateLines } from '../../candidate-view.ts';
import { eligibleWords, holdsTone } from '../../candidate-words.ts';
import { gamesView } from '../../pages/selection-view.ts';
import type { Selection } from '../../selection.ts';
import type { Material } from '../../stores/material-store.ts';
import type { Names } from '../../stores/names-store.ts';
import { type Compared, onceMoved } from '../moving.ts';
import { holdsPlace, type Offer, type OfferStanding, placeWords } from '../offer.ts';

/** The colour of a standing's mark. */
const standingTone: Readonly<Record<OfferStanding, string>> = {
  waiting: '',
  overdue: 'warn',
  accepted: 'good',
  declined: 'bad',
  withdrawn: 'bad',
  'moved up': '',
};
const standingWords: Readonly<Record<OfferStanding, string>> = {
  waiting: 'not answered yet',
  overdue: 'not answered in time',
  accepted: 'accepted',
  declined: 'declined',
  withdrawn: 'withdrawn',
  'moved up': 'moved up',
};

/** So many of those who come next are named beside a place that became free. */
const nextShown = 3;

/** What somebody typed into one of the forms beside a place, kept where it was refused. */
export interface Typed {
  readonly form: 'move-up' | 'telephone' | 'withdraw' | 'more-time';
  /** The offer; of moving up the game, the place and the alternate, in one. */
  readonly of: string;
  readonly values: Readonly<Record<string, string>>;
}

/** What is read only where a place became free. */
interface WhereFree {
  readonly material: () => Promise<Material>;
  readonly compared: () => Promise<Compared | null>;
}

/** Names one form of moving up: the game, the place and the alternate. */
export const moveOf = (gameId: string, slot: string, alternate: string): string =>
  [gameId, slot, alternate].join('|');

/**
 * The games of a selection with every place: who is chosen, how its offer stands, what was offered before; and of a place
 * that became free the game's alternates and who comes next by tier. It proposes nobody.
 * @param typed what was refused, so that its form is open with what was typed
 */
export async function offersView(
  selection: Selection,
  offers: readonly Offer[],
  names: Names,
  { material, compared }: WhereFree,
  typed: Typed | null,
) {
  const typedIn = (form: Typed['form'], of: string) =>
    typed?.form === form && typed.of === of ? typed.values : undefined;
  const inWords = (offer: Offer) => ({
    ...offer,
    name: names.people.get(offer.officialId) ?? '',
    by: names.people.get(offer.offeredBy) ?? '',
    recorder: offer.recordedBy && (names.people.get(offer.recordedBy) ?? ''),
    typed: {
      telephone: typedIn('telephone', offer.id),
      withdraw: typedIn('withdraw', offer.id),
      moreTime: typedIn('more-time', offer.id),
    },
    place: placeWords(offer),
    tone: standingTone[offer.standing],
    words: standingWords[offer.standing],
    isOpen: offer.standing === 'waiting' || offer.standing === 'overdue',
    isOverdue: offer.standing === 'overdue',
  });
  const view = gamesView(selection, null, names);
  const games = [];
  for (const game of view) {
    const ofPlace = async (place: (typeof game.places)[number]) => {
      const here = offers.filter((one) => one.gameId === game.id && one.slot === place.slot);
      const standing = here.find((one) => holdsPlace(one.standing));
      const former = here.filter((one) => one !== standing).map(inWords);
      const free = !place.chosen && former.length > 0;
      return {
        ...place,
        position: former.at(-1)?.position ?? place.position,
        offer: standing && inWords(standing),
        former,
        free,
        canOffer: place.chosen !== undefined && !standing,
        next: free
          ? nextFor(selection, await material(), game.id, former.at(-1)!.position, former)
          : undefined,
      };
    };
    const places = await Promise.all(game.places.map(ofPlace));
    const open = places.some(({ chosen, offer, isAlternate }) => !chosen && !offer && !isAlternate);
    const moves = async (slot: Slot, position: Position) => {
      const held = selection.state === 'offered' ? await compared() : null;
      if (!held) return [];
      return places.flatMap((place) => {
        if (!place.isAlternate || !place.chosen || place.slot === slot) return [];
        const { name, officialId } = place.chosen;
        const isFor = slot.startsWith('alternate') ? place.chosen.position : position;
        const moved = { ...place.chosen, gameId: game.id, slot, position: isFor };
        const of = moveOf(game.id, slot, place.slot);
        return [
          {
            ...{ name, officialId, alternate: place.slot, position: place.chosen.position, of },
            words: place.offer?.words ?? 'not offered',
            // Who stands by for another position is graded in that one.
            elsewhere: place.chosen.position !== isFor,
            over: onceMoved(selection, moved, held)
              .passedOver.filter(({ recorded }) => !recorded)
              .map((one) => names.people.get(one.officialId) ?? ''),
            typed: typedIn('move-up', of),
          },
        ];
      });
    };
    const withMoves = [];
    for (const place of places)
      withMoves.push({
        ...place,
        moves: place.chosen || place.offer ? [] : await moves(place.slot, place.position as Position),
        canMoveUp: open && place.isAlternate,
      });
    games.push({ ...game, places: withMoves });
  }
  return games;
}

/** The best of those who are not chosen in this selection and were not offered this place before, in the order of tiers. */
function nextFor(
  selection: Selection,
  material: Material,
  gameId: string,
  position: Offer['position'],
  former: readonly Offer[],
) {
  const taken = new Set([...selection.choices, ...former].map(({ officialId }) => officialId));
  return candidateLines(material, position, gameId)
    .filter((line) => line.tier !== null && !line.leftOut && !taken.has(line.officialId))
    .slice(0, nextShown)
    .map(({ name, tier, eligible }) => ({
      name,
      tier,
      eligible: eligibleWords[eligible],
      tone: holdsTone[eligible],
    }));
}
