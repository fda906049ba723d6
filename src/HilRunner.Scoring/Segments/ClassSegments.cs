using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Segments;

/// <summary>The reference and observed segments of one class, each by start and without overlap.</summary>
internal sealed class ClassSegments
{
    private readonly Side _reference;
    private readonly Side _observed;
    private long _truePositive;

    public ClassSegments(IReadOnlyList<Interval> reference, IReadOnlyList<Interval> observed)
    {
        _reference = new(reference);
        _observed = new(observed);
        for (int r = 0, o = 0; r < reference.Count && o < observed.Count;)
        {
            long start = Math.Max(reference[r].Start, observed[o].Start);
            long end = Math.Min(reference[r].End, observed[o].End);
            if (start < end)
            {
                _truePositive += end - start;
                _reference.Meet(r, o, start, end);
                _observed.Meet(o, r, start, end);
            }
            if (reference[r].End <= observed[o].End) { r++; } else { o++; }
        }
    }

    public SegmentScore Score()
    {
        var (correct, deletion, fragmented, merged, fragmentedAndMerged) = _reference.Kinds(_observed);
        var (right, insertion, merging, fragmenting, fragmentingAndMerging) = _observed.Kinds(_reference);
        return new(
            new(correct, deletion, fragmented, merged, fragmentedAndMerged),
            new(right, insertion, fragmenting, merging, fragmentingAndMerging),
            new(_truePositive, _observed.Unmet, _observed.Between, _observed.Before, _observed.After,
                _reference.Unmet, _reference.Between, _reference.Before, _reference.After));
    }

    /// <summary>One side's segments, and the time of theirs that the other side does not share.</summary>
    private sealed class Side(IReadOnlyList<Interval> segments)
    {
        private readonly Meetings[] _meetings = new Meetings[segments.Count];

        public long Before { get; private set; }
        public long Between { get; private set; }
        public long After => segments.Select((s, i) => _meetings[i].Count == 0 ? 0 : s.End - _meetings[i].Reached).Sum();
        public long Unmet => segments.Where((_, i) => _meetings[i].Count == 0).Sum(s => s.Length);

        public void Meet(int segment, int other, long start, long end)
        {
            ref var m = ref _meetings[segment];
            if (m.Count == 0)
            {
                m.First = other;
                Before += start - segments[segment].Start;
            }
            else
            {
                Between += start - m.Reached;
            }
            m.Count++;
            m.Last = other;
            m.Reached = end;
        }

        /// <summary>Split: meets several of the other side. Joined: meets one that itself meets several of this side.</summary>
        public (int Plain, int Unmet, int Split, int Joined, int Both) Kinds(Side other)
        {
            int plain = 0, unmet = 0, split = 0, joined = 0, both = 0;
            foreach (var m in _meetings)
            {
                if (m.Count == 0)
                {
                    unmet++;
                    continue;
                }
                bool joins = false;
                for (int i = m.First; i <= m.Last; i++) { joins |= other._meetings[i].Count >= 2; }
                switch (m.Count >= 2, joins)
                {
                    case (true, true): both++; break;
                    case (true, false): split++; break;
                    case (false, true): joined++; break;
                    default: plain++; break;
                }
            }
            return (plain, unmet, split, joined, both);
        }

        private struct Meetings
        {
            public int Count;
            /// <summary>The other side's segments that were met are First to Last without a gap: both sides are in order.</summary>
            public int First, Last;
            public long Reached;
        }
    }
}
