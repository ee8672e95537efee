"""Pictures of a visit as SVG: charts of all animals, and the tract of one drawn to scale.

In: exams. Out: SVG text that stands alone in a page, black and white, without a script and without
anything fetched. Text in it is escaped; what cannot be seen is shown as a mark.
"""
