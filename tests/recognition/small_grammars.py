"""Small grammars, written as the compiled constraint is: blanks as their own terminal."""

CARDS = r"""
start: hand "."?
hand: card (sep card)* | rank sep rank | rank SP card
card: rank (SP OF)? SP suit
sep: ","? SP
SP: " "
OF: "of"
rank: RANK
suit: SUIT
RANK: /[Aa]ce|[Tt]wo|[Tt]hree|[Ff]our|[Ff]ive|[Ss]ix|[Ss]even|[Ee]ight|[Nn]ine|[Tt]en|[Jj]ack/
  | /[Qq]ueen|[Kk]ing|[Ll]ady/
SUIT: /[Cc]lubs|[Hh]earts|[Dd]iamonds|[Ss]pades/
"""

DIGITS = r"""
start: digit (sep digit)* "."?
sep: ","? SP
SP: " "
digit: DIGIT
DIGIT: /[Oo]h|[Zz]ero|[Oo]ne|[Tt]wo|[Tt]hree|[Ff]our|[Ff]ive|[Ss]ix|[Ss]even|[Ee]ight|[Nn]ine/
  | /[0-9]/
"""

MOVES = r"""
start: GO SP way SP number (SP UNIT)? "."?
SP: " "
GO: /[Gg]o/
way: /forward|backward/
number: /one|two|three|four|five|six|seven|eight|nine|ten/
UNIT: /met(er|re)s?/
"""
