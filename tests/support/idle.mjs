setInterval(() => {}, 1000);
