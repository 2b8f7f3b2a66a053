/** The value of a key; made when there is none yet. */
export function kept<K, V>(
  map: { get(key: K): V | undefined; set(key: K, value: V): unknown },
  key: K,
  make: () => V,
): V {
  let value = map.get(key)
  if (value === undefined) {
    value = make()
    map.set(key, value)
  }
  return value
}

/** The list of a key; begun when there is none yet. */
export function listed<K, V>(map: Map<K, V[]>, key: K): V[] {
  return kept(map, key, () => [])
}
