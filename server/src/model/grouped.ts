/** Puts `item` behind those that `groups` has under `key`. */
export function addTo<Key, Item>(groups: Map<Key, Item[]>, key: Key, item: Item): void {
  const others = groups.get(key);
  if (others === undefined) groups.set(key, [item]);
  else others.push(item);
}
