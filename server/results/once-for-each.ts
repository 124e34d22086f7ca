/** Works something out once for each list, and keeps it as long as the list: a season's are asked again and again. */
export function onceForEach<List extends object, Result>(
  make: (list: List) => Result,
): (list: List) => Result {
  const made = new WeakMap<List, Result>();
  return (list) => {
    const there = made.get(list);
    if (there !== undefined) return there;
    const result = make(list);
    made.set(list, result);
    return result;
  };
}
