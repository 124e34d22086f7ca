import type { Session } from '../accounts/session.ts';
import type { Asking } from '../database/pipeline.ts';
import { dayIn } from '../web/today.ts';
import { coordinatorWaits } from './coordinator-desk.ts';
import type { WaitingFacts } from './coordinator-facts.ts';
import type { Entry } from './entry.ts';
import { type ObserverDesk, observerDesk } from './observer-desk.ts';
import { type OfficialDesk, officialDesk } from './official-desk.ts';
import { type AskedFact, readAsked } from './stores/asked-store.ts';
import { readObserverFacts } from './stores/observer-facts-store.ts';
import { readOfficialFacts } from './stores/official-facts-store.ts';
import { readWaitingFacts } from './stores/waiting-facts-store.ts';

/** A person's desk in one season: a part for each of their roles. */
export interface Desk {
  readonly seasonId: string;
  readonly now: Date;
  readonly coordinator: { readonly facts: WaitingFacts; readonly waits: readonly Entry[] } | null;
  readonly observer: ObserverDesk | null;
  readonly official: OfficialDesk | null;
  /** What the coordinator asks them in private, of every season. */
  readonly asked: readonly AskedFact[];
}

/** One query for each role. In a closed season nothing waits for its coordinator any more. */
export async function readDesk(
  asking: Asking,
  {
    conferenceId,
    personId,
    roles,
    timeZone,
  }: Pick<Session, 'conferenceId' | 'personId' | 'roles' | 'timeZone'>,
  season: { readonly id: string; readonly state: string },
  now = new Date(),
): Promise<Desk> {
  const facts = roles.has('coordinator')
    ? await readWaitingFacts(asking, conferenceId, season.id, { now, today: dayIn(timeZone, now) })
    : null;
  return {
    seasonId: season.id,
    now,
    coordinator: facts && { facts, waits: season.state === 'closed' ? [] : coordinatorWaits(facts, now) },
    observer: roles.has('observer')
      ? observerDesk(await readObserverFacts(asking, conferenceId, season.id, personId), now)
      : null,
    official: roles.has('official')
      ? officialDesk(await readOfficialFacts(asking, conferenceId, season.id, personId), now)
      : null,
    asked: roles.has('team contact') ? [] : await readAsked(asking, conferenceId, personId),
  };
}
