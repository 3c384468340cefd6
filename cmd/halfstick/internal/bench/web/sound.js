// Sounds for a person who looks at the controls, not at the page.
let audio = null;

export function ready() {
  audio ||= new AudioContext();
  audio.resume();
}

const tones = { good: [880, 1320], again: [330, 330], "left-out": [262] };

export function beep(verdict) {
  if (!audio) return;
  (tones[verdict] || [660]).forEach((hertz, i) => tone(hertz, audio.currentTime + 0.16 * i));
}

function tone(hertz, at) {
  const oscillator = audio.createOscillator(), volume = audio.createGain();
  oscillator.frequency.value = hertz;
  volume.gain.setValueAtTime(0, at);
  volume.gain.linearRampToValueAtTime(0.25, at + 0.01);
  volume.gain.exponentialRampToValueAtTime(0.001, at + 0.14);
  oscillator.connect(volume).connect(audio.destination);
  oscillator.start(at);
  oscillator.stop(at + 0.15);
}

export function speak(text) {
  if (!window.speechSynthesis || !text) return;
  speechSynthesis.cancel();
  speechSynthesis.speak(new SpeechSynthesisUtterance(text));
}

export function silence() {
  if (window.speechSynthesis) speechSynthesis.cancel();
}
