import { candidateLines } from '../../candidate-view.ts';
import { gamesView } from '../../pages/selection-view.ts';
import type { Selection } from '../../selection.ts';
import type { Material } from '../../stores/material-store.ts';
import type { Names } from '../../stores/names-store.ts';
import { eligibleWords, holdsTone } from '../../words.ts';
import { holdsPlace, type Offer, type OfferStanding, placeWords } from '../offer.ts';

/** The colour of a standing's mark. */
export const standingTone: Readonly<Record<OfferStanding, string>> = {
  waiting: '',
  overdue: 'warn',
  accepted: 'good',
  declined: 'bad',
  withdrawn: 'bad',
};
export const standingWords: Readonly<Record<OfferStanding, string>> = {
  waiting: 'not answered yet',
  overdue: 'not answered in time',
  accepted: 'accepted',
  declined: 'declined',
  withdrawn: 'withdrawn',
};

/** So many of those who come next are named beside a place that became free. */
const nextShown = 3;

/**
 * The games of a selection with every place: who is chosen, how its offer stands, what was offered before; and of a place
 * that became free the game's alternates and who comes next by tier. It proposes nobody.
 * @param material reads the candidates; asked only where a place became free
 */
export async function offersView(
  selection: Selection,
  offers: readonly Offer[],
  names: Names,
  material: () => Promise<Material>,
) {
  const inWords = (offer: Offer) => ({
    ...offer,
    name: names.people.get(offer.officialId) ?? '',
    by: names.people.get(offer.offeredBy) ?? '',
    place: placeWords(offer),
    tone: standingTone[offer.standing],
    words: standingWords[offer.standing],
    isOpen: offer.standing === 'waiting' || offer.standing === 'overdue',
    isOverdue: offer.standing === 'overdue',
  });
  const view = gamesView(selection, null, names);
  const games = [];
  for (const game of view) {
    const places = [];
    for (const place of game.places) {
      const here = offers.filter((one) => one.gameId === game.id && one.slot === place.slot);
      const standing = here.find((one) => holdsPlace(one.standing));
      const former = here.filter((one) => one !== standing).map(inWords);
      const free = !place.chosen && former.length > 0;
      places.push({
        ...place,
        position: former.at(-1)?.position ?? place.position,
        offer: standing && inWords(standing),
        former,
        free,
        canOffer: place.chosen !== undefined && !standing,
        next: free
          ? nextFor(selection, await material(), game.id, former.at(-1)!.position, former)
          : undefined,
      });
    }
    const alternates = places
      .filter(({ isAlternate, chosen }) => isAlternate && chosen)
      .map(({ slot, position, chosen, offer }) => ({
        slot,
        position,
        name: chosen!.name,
        words: offer?.words,
      }));
    games.push({ ...game, places, alternates });
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
