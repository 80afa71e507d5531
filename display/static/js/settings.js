// What one screen has chosen for itself, kept in its browser.
const USUAL = { sound: true, volume: 70, full: false };

export function setting(name) {
  return JSON.parse(localStorage.getItem(`screen ${name}`) ?? "null") ?? USUAL[name];
}

export function set(name, value) {
  localStorage.setItem(`screen ${name}`, JSON.stringify(value));
  document.dispatchEvent(new CustomEvent("setting", { detail: name }));
}
