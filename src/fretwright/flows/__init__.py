"""The flows: each one short file of ordered calls over the layers below.

``teach``  course text -> Course -> check -> Score -> fingering -> plate, sound -> publish

Beside it stand what a flow needs to run well: the shelf (an output folder that is only written where
something changed) and the workers (one process per core).
"""
