/**
 * Gathers single questions asked in one turn of the event loop into one; each answer is kept. `load`
 * must answer every key it is given.
 */
export function batched<Key, Value>(
  load: (keys: readonly Key[]) => Promise<ReadonlyMap<Key, Value>>,
): (key: Key) => Promise<Value> {
  const asked = new Map<Key, Promise<Value>>()
  let gathering: { keys: Key[]; values: Promise<ReadonlyMap<Key, Value>> } | undefined

  async function loadGathered(keys: readonly Key[]): Promise<ReadonlyMap<Key, Value>> {
    await new Promise((resolve) => setImmediate(resolve))
    gathering = undefined
    return load(keys)
  }

  async function ask(key: Key): Promise<Value> {
    if (!gathering) {
      const keys: Key[] = []
      gathering = { keys, values: loadGathered(keys) }
    }
    gathering.keys.push(key)
    return (await gathering.values).get(key)!
  }

  return (key) => {
    if (!asked.has(key)) asked.set(key, ask(key))
    return asked.get(key)!
  }
}
