// Tells how far the opening of the study is, and shows the desk in its place once it is open.
combe.heard.opening = ({ words }) => { byId("opening-words").textContent = words; };
combe.heard.opened = () => { combe.leaves = true; location.reload(); };
combe.heard.failed = ({ fault }) => combe.openingEnds(tell("The desk could not be opened: {fault}", { fault }));

combe.openingEnds = (words) => {
  if (!byId("opening-fault").hidden) return;
  byId("opening-bar").hidden = true;
  byId("opening-words").hidden = true;
  byId("opening-fault").textContent = words;
  byId("opening-fault").hidden = false;
};

combe.hearOpening = async () => {
  try { await combe.hearAll("/api/opening"); } catch { /* no answer, as below */ }
  // A page that makes room for the desk says nothing more.
  if (!combe.leaves) combe.openingEnds(NO_ANSWER);
};
combe.hearOpening();
