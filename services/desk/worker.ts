// Between the desk and the network: where there is none, the shell that was kept answers. Answers of the house
// are never kept here.

interface Fetching extends Event {
  request: Request
  respondWith(response: Promise<Response>): void
}

const SHELL = 'desk-shell'

self.addEventListener('fetch', (event) => {
  const { request } = event as Fetching
  const { pathname, origin } = new URL(request.url)
  if (request.method !== 'GET' || origin !== location.origin) return
  if (request.mode === 'navigate') (event as Fetching).respondWith(orKept(request, '/'))
  else if (pathname.startsWith('/desk/')) (event as Fetching).respondWith(orKept(request, pathname))
})

/** The network first: what is kept may be of an older house. */
async function orKept(request: Request, path: string): Promise<Response> {
  try {
    return await fetch(request)
  } catch (error) {
    const kept = await (await caches.open(SHELL)).match(path)
    if (kept) return kept
    throw error
  }
}
