import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const session = {
  conferenceId: ids.conference,
  conferenceName: 'Ninefold Conference',
  personId: ids.coordinator,
  email: 'orla.fennimore@conference.example',
  givenName: 'Orla',
  familyName: 'Fennimore',
  roles: ['coordinator'],
  csrfToken: 'hZ0sQ2c7pWv3mK8tY1bN5x',
};
const person = {
  id: ids.observer,
  email: 'tobin.marrowell@conference.example',
  givenName: 'Tobin',
  familyName: 'Marrowell',
  roles: ['observer'],
  team: null,
  state: 'invited',
  lastSeenAt: null,
};
const link = {
  purpose: 'invitation',
  url: 'https://crewmark.conference.example/welcome/5uE2fJx0aV7kQ9',
  expiresAt: '2026-08-15T16:00:00.000Z',
};
const passphrase = 'four chains and a clip';

/** Signing in, people, tokens, mail. */
export const people: ExamplesByOperation = {
  postSession: {
    sent: {
      'E-mail and password': { email: session.email, password: passphrase },
      'With a second factor, in one of several conferences': {
        email: session.email,
        password: passphrase,
        conference: 'ninefold',
        code: '492039',
      },
    },
    answered: { 'A coordinator': session },
  },
  getSession: { answered: { 'A coordinator': session } },
  putSessionPassword: {
    sent: { 'The old and the new': { currentPassword: passphrase, newPassword: 'pylon, tape and whistle' } },
    answered: { 'A new session': session },
  },
  postAccountLinksUse: {
    sent: { 'From an invitation': { token: '5uE2fJx0aV7kQ9hZ0sQ2c7pWv3mK8tY1bN5xq', password: passphrase } },
    answered: { 'Signed in': session },
  },
  postPeople: {
    sent: {
      'An observer': {
        email: person.email,
        givenName: person.givenName,
        familyName: person.familyName,
        roles: person.roles,
      },
      'A team’s contact': {
        email: 'ivo.castellane@team.example',
        givenName: 'Ivo',
        familyName: 'Castellane',
        roles: ['team contact'],
        teamId: ids.team,
      },
    },
    answered: { 'Invited by a link': { person, link } },
  },
  getPeople: { answered: { 'One invited': [person] } },
  patchPeopleByPersonId: {
    sent: {
      'One more role': { roles: ['observer', 'official'] },
      'Shut out': { active: false },
    },
    answered: { 'With both roles': { ...person, roles: ['observer', 'official'] } },
  },
  postTokens: {
    sent: {
      'Only reading, for a season': {
        name: 'Results on our site',
        role: 'coordinator',
        readOnly: true,
        days: 180,
      },
    },
    answered: {
      'Shown this once': {
        id: ids.token,
        name: 'Results on our site',
        role: 'coordinator',
        readOnly: true,
        madeBy: 'Orla Fennimore',
        createdAt: '2026-08-01T16:00:00.000Z',
        expiresAt: '2027-01-28T16:00:00.000Z',
        lastUsedAt: null,
        state: 'works',
        token: 'crewmark_hZ0sQ2c7pWv3mK8tY1bN5xqJ4rD6gL9uE2fAaBbCcDd',
      },
    },
  },
  postMyMessagesRead: {
    sent: { One: { messageId: ids.message }, All: {} },
    answered: { 'One was unread': { marked: 1 } },
  },
  putMyMail: {
    sent: { 'One mail a day': { wanted: 'daily' } },
    answered: { 'One mail a day': { wanted: 'daily' } },
  },
};
