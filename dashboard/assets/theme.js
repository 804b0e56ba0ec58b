// Light or dark as somebody chose it in this browser, before anything is drawn; without a choice the system's wish holds.
{
  const chosen = localStorage.getItem("floorbook:theme");
  if (chosen) document.documentElement.dataset.theme = chosen;
}
