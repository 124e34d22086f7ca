import type { Queryable } from '../../../database/transaction.ts';
import { endOfDay } from '../../../reports/answer-time.ts';
import type { Offer, OwnOffer } from '../offer.ts';

const standing = `coalesce(o.answer, CASE WHEN now() > ${endOfDay('o.answer_by', 'c.time_zone')} THEN 'overdue' ELSE 'waiting' END)`;

const columns = `o.id, o.slot, o.position, o.offered_at AS "offeredAt", to_char(o.answer_by, 'YYYY-MM-DD') AS "answerBy",
       o.embargo_until AS "embargoUntil", ${standing} AS standing, o.answered_at AS "answeredAt", o.reason,
       o.recorded_note AS "recordedNote"`;

type Instants = 'offeredAt' | 'embargoUntil' | 'answeredAt';
type Row<Read extends Pick<Offer, Instants>> = Omit<Read, Instants> & {
  offeredAt: Date;
  embargoUntil: Date | null;
  answeredAt: Date | null;
};

const asText = <One extends { offeredAt: Date; embargoUntil: Date | null; answeredAt: Date | null }>(
  row: One,
) => ({
  ...row,
  offeredAt: row.offeredAt.toISOString(),
  embargoUntil: row.embargoUntil?.toISOString() ?? null,
  answeredAt: row.answeredAt?.toISOString() ?? null,
});

/** All offers of a selection, the first first: those that were declined or withdrawn stay. */
export async function readOffers(db: Queryable, conferenceId: string, selectionId: string): Promise<Offer[]> {
  const { rows } = await db.query<Row<Offer>>(
    `SELECT ${columns}, o.game_id AS "gameId", o.official_id AS "officialId", o.offered_by AS "offeredBy",
            o.recorded_by AS "recordedBy"
       FROM selection_offer o JOIN conference c ON c.id = o.conference_id
      WHERE o.conference_id = $1 AND o.selection_id = $2 ORDER BY o.offered_at, o.id`,
    [conferenceId, selectionId],
  );
  return rows.map(asText);
}

/** An official's own offers of all seasons, the latest game first. @param id only this one */
export async function readOwnOffers(
  db: Queryable,
  conferenceId: string,
  personId: string,
  id: string | null = null,
): Promise<OwnOffer[]> {
  const { rows } = await db.query<Row<OwnOffer>>(
    `SELECT ${columns}, s.season_id AS "seasonId", g.name AS game, to_char(g.played_on, 'YYYY-MM-DD') AS "playedOn",
            g.kickoff, coalesce(h.name, g.home_name) AS home, coalesce(v.name, g.visitor_name) AS visitor,
            coalesce(w.name, g.place) AS "where",
            ${standing} = 'waiting' AND s.state = 'offered' AND x.state <> 'closed' AS open,
            b.given_name || ' ' || b.family_name AS ask, k.given_name || ' ' || k.family_name AS recorder
       FROM selection_offer o
       JOIN conference c ON c.id = o.conference_id
       JOIN selection s ON s.conference_id = o.conference_id AND s.id = o.selection_id
       JOIN season x ON x.conference_id = s.conference_id AND x.id = s.season_id
       JOIN selection_game g ON g.conference_id = o.conference_id AND g.id = o.game_id
       JOIN person b ON b.conference_id = o.conference_id AND b.id = o.offered_by
       LEFT JOIN person k ON k.conference_id = o.conference_id AND k.id = o.recorded_by
       LEFT JOIN team h ON h.conference_id = g.conference_id AND h.id = g.home_team_id
       LEFT JOIN team v ON v.conference_id = g.conference_id AND v.id = g.visitor_team_id
       LEFT JOIN venue w ON w.conference_id = g.conference_id AND w.id = g.venue_id
      WHERE o.conference_id = $1 AND o.official_id = $2 AND ($3::uuid IS NULL OR o.id = $3)
      ORDER BY g.played_on DESC, o.offered_at DESC, o.id`,
    [conferenceId, personId, id],
  );
  return rows.map(asText);
}
