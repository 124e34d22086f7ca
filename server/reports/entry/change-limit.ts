/** A device sends at most this many changes at once. Apart from their schemas, which a device need not load. */
export const mostChangesAtOnce = 200;
