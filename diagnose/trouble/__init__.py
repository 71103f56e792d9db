"""What is known of one trouble: results, looks, repairs, exchanged parts, alarms, and the network they speak about.

It must not know what to do next, nor where any of it is written down.
"""
