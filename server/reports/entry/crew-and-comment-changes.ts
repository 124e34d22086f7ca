import { playLogIsClosed } from '../../games/play-log.ts';
import { confirmCrew } from '../filing/confirm-crew.ts';
import { workingCrew } from '../filing/counted-material.ts';
import type { ConfirmCrew, GeneralComment } from './changes.ts';
import { type Entry, keep, type Outcome, Refused } from './keep-change.ts';

export async function putCrew(entry: Entry, change: ConfirmCrew, resolves: string | null): Promise<Outcome> {
  const { client, conferenceId, report } = entry;
  const text = (crew: ConfirmCrew['was']) =>
    crew
      .map((member) => `${member.position} ${member.personId}`)
      .sort()
      .join('\n');
  const now = await workingCrew(client, conferenceId, report.gameId);
  const same = text(now) === text(change.crew);
  if (!same && text(now) !== text(change.was)) {
    return keep(entry, change, { outcome: 'conflict', theirs: { crew: now } }, resolves);
  }
  const confirmed = change.confirmed !== false;
  if (!same) {
    const { rows } = await client.query<{ id: string }>(
      `SELECT p.id FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
        WHERE p.conference_id = $1 AND p.id = ANY ($2::uuid[]) AND r.role = 'official'`,
      [conferenceId, change.crew.map((member) => member.personId)],
    );
    if (rows.length < change.crew.length) throw new Refused('Somebody in this crew is not an official here.');
  }
  if ((!same || !confirmed) && (await playLogIsClosed(client, conferenceId, report.gameId, report.id))) {
    throw new Refused(
      'Another report on this game is already with the coordinator; ask the coordinator to correct the crew.',
    );
  }
  await confirmCrew(client, entry, report.gameId, same ? undefined : change.crew, confirmed);
  return keep(entry, change, { outcome: 'applied' }, resolves);
}

export async function putGeneralComment(
  entry: Entry,
  change: GeneralComment,
  resolves: string | null,
): Promise<Outcome> {
  const { client, conferenceId, report } = entry;
  const { rows } = await client.query<{ comment: string }>(
    'SELECT general_comment AS comment FROM report WHERE conference_id = $1 AND id = $2',
    [conferenceId, report.id],
  );
  const now = rows[0]!.comment;
  if (now !== change.comment && now !== change.was) {
    return keep(entry, change, { outcome: 'conflict', theirs: { generalComment: now } }, resolves);
  }
  await client.query('UPDATE report SET general_comment = $3 WHERE conference_id = $1 AND id = $2', [
    conferenceId,
    report.id,
    change.comment,
  ]);
  return keep(entry, change, { outcome: 'applied' }, resolves);
}
