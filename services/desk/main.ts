// The desk in the browser begins here, with little: what a caller waits for is asked while the rest is on its way.
import { askInquiry } from './asks/inquiry.ts'
import { askAhead, signIn } from './frame/ask.ts'
import { inquiryOf } from './pages/inquiry/question.ts'

async function begin(): Promise<void> {
  const desk = import('./desk.ts')
  // The part behind # is a token: it becomes a cookie, and leaves the address.
  const token = location.hash.slice(1)
  if (token !== '') {
    history.replaceState(null, '', location.pathname + location.search)
    await signIn(token).catch(() => false)
  }
  const inquiry = inquiryOf(new URLSearchParams(location.search))
  if (location.pathname === '/inquiry' && inquiry.mark !== '') askAhead(askInquiry, inquiry)
  await (await desk).startDesk(token !== '')
}

void begin()
