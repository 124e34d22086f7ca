import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { lockPlayLog } from '../../games/play-log.ts';
import type { CrewMember } from '../../games/working-crew.ts';
import { wrongMembers } from '../../schedule/crew-store.ts';
import { readWorkingCrew } from '../../schedule/schedule-store.ts';
import { conflict } from '../../web/problem.ts';
import { confirmCrew } from '../filing/confirm-crew.ts';
import { hasFiledReport } from './corrections.ts';

/**
 * The coordinator's word on who really worked a game, which confirms it. Marks of open reports go with the position
 * they were made on; under a filed report nobody is exchanged.
 * @throws Problem 409 naming what is wrong: `all`, or `member-POSITION`.
 */
export async function correctWorkingCrew(
  client: Queryable,
  acting: Acting,
  gameId: string,
  crew: readonly CrewMember[],
): Promise<void> {
  const { conferenceId } = acting;
  await lockPlayLog(client, conferenceId, gameId);
  const refuse = (message: string) => conflict(message, [{ field: 'all', message }]);
  if (crew.length === 0) throw refuse('Enter at least one official.');
  const wrong = await wrongMembers(client, conferenceId, crew);
  if (wrong.length > 0) throw conflict('The crew cannot be kept as it is.', wrong);
  const before = Object.fromEntries(
    (await readWorkingCrew(client, conferenceId, gameId)).map(({ position, official }) => [
      position,
      official.id,
    ]),
  );
  const after = Object.fromEntries(crew.map(({ position, personId }) => [position, personId]));
  const changed =
    Object.keys(before).length !== crew.length || crew.some((one) => before[one.position] !== one.personId);
  if (changed && (await hasFiledReport(client, conferenceId, gameId))) {
    throw refuse(
      'A report on this game is filed with another crew: return it to its observer before changing who worked.',
    );
  }
  await confirmCrew(client, acting, gameId, changed ? crew : undefined);
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: 'working crew confirmed',
    subjectKind: 'game',
    subjectId: gameId,
    before,
    after,
  });
}
