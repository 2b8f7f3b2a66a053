/**
 * Work that many ask for at the same time. Whoever asks while it is being done shares the next doing with all
 * others that do: what is under way may have begun before something they know of.
 */
export function shared<Result>(work: () => Promise<Result>): () => Promise<Result> {
  let running: Promise<Result> | undefined
  let next: Promise<Result> | undefined

  function start(): Promise<Result> {
    const run = work().finally(() => {
      if (running === run) running = undefined
    })
    running = run
    return run
  }

  return () => {
    if (!running) return next ?? start()
    next ??= running
      .catch(() => undefined)
      .then(() => {
        next = undefined
        return start()
      })
    return next
  }
}
