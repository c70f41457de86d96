import sys; sys.path.insert(0,'/work/main/tests/service/usecases/diagnosing')
from test_second_stories import *
def test_p(service):
    for week in range(3):
        next_time(service, 6, 19)
        service.text(mobile("1A"), CHILLY)
        t = ticket_of(service, "1A")
        print("##", [(s['fault'],s['component'],s['probability']) for s in t['suspects']][:7], t['unknown'] if 'unknown' in t else '', rules_of(t)[:2], [(p['part'],p['chance_used']) for p in t['load'][:4]])
        visited_in_vain(service, "1A")
        next_time(service, 1, 9)
        service.text(mobile("1A"), "1")
def test_q(service):
    next_time(service, 1, 12, outdoor_f=30)
    print('##', service.text(mobile("1A"), "too cold, its only 68 in here"))
    print('##', service.open_tickets())
    print('##', next_time(service, 0, 17, outdoor_f=30))
    print('##', service.open_tickets())
