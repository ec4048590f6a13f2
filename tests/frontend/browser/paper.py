"""What the tests of printed pages share."""

A4_WITHIN_MARGINS_PX = 688  # 182 mm at 96 px an inch
TOO_WIDE = """[...document.querySelectorAll("main *")].filter((one) => one.checkVisibility()
    && !one.closest("svg, .unseen") && one.getBoundingClientRect().right > innerWidth + 1)
    .map((one) => one.outerHTML.slice(0, 90))"""
