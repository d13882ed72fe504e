import { createContext, useContext } from 'react';
import type { Session } from './session.ts';

export const SessionContext = createContext<Session | undefined>(undefined);

export function useSession(): Session {
  const session = useContext(SessionContext);
  if (!session) throw new Error('useSession stands outside the page');
  return session;
}
