document.title = "fullminute";
