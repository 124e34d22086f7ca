import type { Desk } from './desk.ts';
import type { Entry, Kind } from './entry.ts';
import { observerCounts } from './observer-desk.ts';
import { officialCounts } from './official-desk.ts';

/** The page of the menu on which a kind of thing is done; the others are told by the desk alone. */
const pageOf: Partial<Record<Kind, string>> = {
  review: '/reports',
  release: '/reports',
  ruling: '/reports',
  inquiry: '/inquiries',
  offer: '/postseason',
  'free place': '/postseason',
  declined: '/observers',
  place: '/observers',
};

/** How much waits, by the address of a page in the menu: the same things as on the desk. Pages where nothing does are left out. */
export function menuCounts(desk: Desk): ReadonlyMap<string, number> {
  const counts = new Map<string, number>();
  const add = (page: string | undefined, count: number) => {
    if (page !== undefined && count > 0) counts.set(page, (counts.get(page) ?? 0) + count);
  };
  const waits: readonly Entry[] = desk.coordinator?.waits ?? [];
  for (const { kind } of waits) add(pageOf[kind], 1);
  const observer = desk.observer && observerCounts(desk.observer);
  const official = desk.official && officialCounts(desk.official);
  add('/my/games', observer?.games ?? 0);
  add('/my/assignments', observer?.assignments ?? 0);
  add('/my/marks', official?.marks ?? 0);
  add('/my/postseason', official?.offers ?? 0);
  // Asked once, whatever the roles.
  const away = Math.max(observer?.away ?? 0, official?.away ?? 0);
  add('/my/seasons', away);
  add(
    '/desk',
    desk.asked.length +
      waits.length +
      (observer ? observer.games + observer.assignments : 0) +
      (official?.marks ?? 0) +
      (official?.offers ?? 0) +
      away,
  );
  return counts;
}
