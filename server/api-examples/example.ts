/** Examples by what they show, in a few words. */
export type Examples = Readonly<Record<string, unknown>>;

/** What is sent to one operation and what it answers when all goes well. */
interface OperationExamples {
  readonly sent?: Examples;
  readonly answered?: Examples;
}

/** By operationId. */
export type ExamplesByOperation = Readonly<Record<string, OperationExamples>>;

/** What is set is answered as it was sent. */
export const setAndAnswered = (examples: Examples): OperationExamples => ({
  sent: examples,
  answered: examples,
});

/** For the description: a name of each that fits an address, and its words. */
export const inDescription = (examples: Examples) =>
  Object.fromEntries(
    Object.entries(examples).map(([words, value]) => [
      words.toLowerCase().replaceAll(/[^a-z0-9]+/g, '-'),
      { summary: words, value },
    ]),
  );
