using HilRunner.Core.Files;

namespace HilRunner.Inspection.Reading;

/// <summary>
/// The largest of the next so many values, for places that go up: a queue of those values that are larger than all behind them,
/// so that each value is looked at once however often it is asked (Lemire, Nordic Journal of Computing 13(4):328–339, 2006).
/// </summary>
/// <param name="values">As they are; <see cref="InspectedRecording.NoTime"/> is less than any other.</param>
/// <param name="length">How many values, from the place on.</param>
internal sealed class LargestAhead(Series<long> values, int length)
{
    private readonly LinkedList<(int At, long Value)> _largest = new();
    private int _next;

    /// <param name="from">Not less than before.</param>
    public long Of(int from)
    {
        while (_largest.First is { } first && first.Value.At < from) { _largest.RemoveFirst(); }
        _next = Math.Max(_next, from);
        for (int end = (int)Math.Min(values.Length, (long)from + length); _next < end; _next++)
        {
            long value = values[_next];
            while (_largest.Last is { } last && last.Value.Value <= value) { _largest.RemoveLast(); }
            _largest.AddLast((_next, value));
        }
        return _largest.First?.Value.Value ?? InspectedRecording.NoTime;
    }
}
