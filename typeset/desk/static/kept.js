// A drawing not yet saved, kept for this tab so that it outlives a reload.

const KEY = "drawing";

export function keep(kept) {
  try {
    sessionStorage.setItem(KEY, JSON.stringify(kept));
  } catch { /* private windows keep nothing */ }
}

export function kept() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY));
  } catch {
    return null;
  }
}

export function forget() {
  try {
    sessionStorage.removeItem(KEY);
  } catch { /* as above */ }
}
