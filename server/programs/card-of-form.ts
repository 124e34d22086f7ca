/** How many choices of a question the card's form has room for. */
const choicesShown = 5;
export const choicePlaces = Array.from({ length: choicesShown }, (_, at) => at + 1);

/**
 * A card as its form has it, for the schema. Choices left empty are not there.
 * @param text what the field of that name holds; a box that is not ticked holds nothing
 */
export function cardOfFields(text: (name: string) => string) {
  return {
    topic: text('topic'),
    aspect: text('aspect'),
    showing: text('showing'),
    position: text('position'),
    dutyKey: text('dutyKey') || null,
    answer: text('answer'),
    answeredOn: text('answeredOn') || null,
    ruleCited: text('ruleCited'),
    mechanicCited: text('mechanicCited'),
    twoMechanics: text('twoMechanics') === 'yes',
    firstKey: text('firstKey'),
    secondKey: text('secondKey'),
    question: text('question'),
    choices: choicePlaces
      .map((at) => ({ text: text(`choice${at}`), right: text(`right${at}`) === 'yes' }))
      .filter((choice) => choice.text !== ''),
    narration: text('narration'),
    secondsBefore: text('secondsBefore'),
    secondsAfter: text('secondsAfter'),
  };
}
