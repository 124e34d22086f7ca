import type { Prepare } from '../messages/sending.ts';
import { linkEnd, linkLifetime, makeLink } from './account-link.ts';
import { type Role, rolesText } from './roles.ts';
import { newToken } from './token.ts';

/**
 * An invitation's mail holds its link. It works once the mail server took the message: a failure leaves the link that
 * the person had. Who came, or was deactivated, while the mail waited gets none.
 */
export const prepareInvitation =
  (address: string): Prepare =>
  async (db, { conferenceId, personId }) => {
    const { rows } = await db.query<{ roles: Role[] }>(
      `SELECT ARRAY(SELECT r.role FROM person_role r WHERE r.conference_id = p.conference_id AND r.person_id = p.id
                     ORDER BY r.role) AS roles
         FROM person p WHERE p.conference_id = $1 AND p.id = $2 AND p.active AND p.password_hash IS NULL`,
      [conferenceId, personId],
    );
    const person = rows[0];
    if (!person) return null;
    const token = newToken();
    return {
      facts: {
        roles: rolesText(person.roles),
        link: `${address}/invitation/${token}`,
        until: linkEnd(linkLifetime.invitation),
      },
      async sent(client) {
        await makeLink(client, { conferenceId, personId }, 'invitation', linkLifetime.invitation, token);
      },
    };
  };
