// The shell on the phone: the files of the desk, so that the list opens where there is no network.

/** Of the cache that services/desk/worker.ts answers from. */
const SHELL = 'desk-shell'

/** Needs a secure address; without one the list works as long as the page stays open. */
export async function keepShell(): Promise<void> {
  if (!('serviceWorker' in navigator)) return
  try {
    await navigator.serviceWorker.register('/worker.js')
    const loaded = performance
      .getEntriesByType('resource')
      .map(({ name }) => new URL(name))
      .filter(({ origin, pathname }) => origin === location.origin && /^\/desk\//.test(pathname))
      .map(({ pathname }) => pathname)
    const cache = await caches.open(SHELL)
    await cache.addAll(['/', ...new Set(loaded)])
  } catch {
    // The page works all the same; the list is kept beside it.
  }
}
