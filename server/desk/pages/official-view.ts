import { ageInWords, timeLeftInWords } from '../age.ts';
import { daysNew, type OfficialDesk } from '../official-desk.ts';

const nobody: OfficialDesk = {
  news: [],
  before: [],
  toAnswer: [],
  waitingForRuling: [],
  points: [],
  offers: [],
  availability: null,
};

/** The official's part of the desk, ready for the template. Without a season it is empty. */
export function officialView(desk: OfficialDesk | null, now = new Date()) {
  const { news, before, toAnswer, waitingForRuling, points, offers, availability } = desk ?? nobody;
  return {
    availability,
    offers,
    daysNew,
    news: news.map((one) => ({ ...one, age: ageInWords(one.at, now) })),
    before: before.map((one) => ({ ...one, age: ageInWords(one.at, now) })),
    toAnswer: toAnswer.map((one) => ({
      ...one,
      left: one.answerUntil && timeLeftInWords(one.answerUntil, now),
    })),
    waitingForRuling: waitingForRuling.map((one) => ({ ...one, age: ageInWords(one.repliedAt, now) })),
    points,
    nothing: news.length + before.length === 0,
  };
}
