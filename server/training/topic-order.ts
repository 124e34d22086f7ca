import { type Aspect, aspects } from './aspects.ts';
import { isBad, type Showing } from './lesson.ts';

interface Orderable {
  /** Plays of one topic stand together; an empty topic is one of its own. */
  readonly topic: string;
  readonly aspect: Aspect;
  readonly showing: Showing;
}

/**
 * Plays in the order in which they teach: topics as they first come, in each one position, keys, ruling, signal, and a
 * good play first and last. Where a topic has only one good play, it opens. Plays that are alike stay as they were.
 */
export function inTeachingOrder<P extends Orderable>(plays: readonly P[]): P[] {
  const topics = new Map<string, P[]>();
  for (const play of plays) {
    const own = topics.get(play.topic);
    if (own) own.push(play);
    else topics.set(play.topic, [play]);
  }
  return [...topics.values()].flatMap(withinTopic);
}

function withinTopic<P extends Orderable>(plays: readonly P[]): P[] {
  const sorted = plays.toSorted((a, b) => aspects.indexOf(a.aspect) - aspects.indexOf(b.aspect));
  const opener = sorted.find(({ showing }) => !isBad(showing));
  const closer = sorted.findLast((play) => play !== opener && !isBad(play.showing));
  const between = sorted.filter((play) => play !== opener && play !== closer);
  return [...(opener ? [opener] : []), ...between, ...(closer ? [closer] : [])];
}

export interface TopicOpening {
  readonly topic: string;
  readonly opensGood: boolean;
  readonly closesGood: boolean;
  /** Its plays stand together. */
  readonly together: boolean;
}

/** How each topic opens and closes in the order given. */
export function topicOpenings(plays: readonly Orderable[]): TopicOpening[] {
  return [...new Set(plays.map(({ topic }) => topic))].map((topic) => {
    const first = plays.findIndex((play) => play.topic === topic);
    const last = plays.findLastIndex((play) => play.topic === topic);
    return {
      topic,
      opensGood: !isBad(plays[first]!.showing),
      closesGood: !isBad(plays[last]!.showing),
      together: plays.slice(first, last + 1).every((play) => play.topic === topic),
    };
  });
}
