using System.Globalization;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// Samples at uneven stamps → samples at one rate, by piecewise cubic Hermite interpolation. The slope at an inner sample is that of
/// the parabola through it and its neighbours (second order for uneven steps), at the ends that of the outer step. It is no filter:
/// the rate may not be below the log's own.
/// </summary>
internal sealed class HermiteStage(ISampleSink next, SampleRate rate, int channels) : ISampleSink
{
    /// <summary>Rates are in millihertz: a place in nanoseconds is n·10¹² ÷ rate.</summary>
    private const long NsTimesMilliHertz = 1_000_000_000_000;

    private readonly ImportRow _out = new(channels);
    private readonly double[][] _values = [.. Enumerable.Range(0, 4).Select(_ => new double[channels])];
    private readonly long[] _times = new long[4];
    private int _held;
    private long _made;

    /// <summary>Samples that a stretch of this length is made into: those before and at its end.</summary>
    public static long SamplesIn(long spanNs, SampleRate rate) => (long)((Int128)spanNs * rate.MilliHertz / NsTimesMilliHertz) + 1;

    public void Sample(ReadOnlySpan<char> time, long ns, ImportRow row)
    {
        if (_held == 4) { Shift(); }
        _times[_held] = ns;
        row.Values.CopyTo(_values[_held], 0);
        _held++;
        if (_held == 3) { Emit(-1, 0, 1, 2); }
        if (_held == 4) { Emit(0, 1, 2, 3); }
    }

    public void Complete()
    {
        if (_held == 1) { Put(_values[0]); }
        if (_held == 2) { Emit(-1, 0, 1, -1); }
        if (_held > 2) { Emit(_held - 3, _held - 2, _held - 1, -1); }
        next.Complete();
    }

    public void Dispose() => next.Dispose();

    private void Shift()
    {
        var first = _values[0];
        Array.Copy(_times, 1, _times, 0, 3);
        Array.Copy(_values, 1, _values, 0, 3);
        _values[3] = first;
        _held = 3;
    }

    /// <summary>The samples from held sample b to c; a and d are their neighbours, -1 where there is none.</summary>
    private void Emit(int a, int b, int c, int d)
    {
        double step = _times[c] - _times[b];
        var made = new double[channels];
        while ((Int128)_made * NsTimesMilliHertz <= (Int128)_times[c] * rate.MilliHertz)
        {
            // The place is exact but for the last step: a whole nanosecond is worth nothing here.
            double x = (double)((Int128)_made * NsTimesMilliHertz - (Int128)_times[b] * rate.MilliHertz) / rate.MilliHertz / step;
            double h00 = (1 + 2 * x) * (1 - x) * (1 - x), h10 = x * (1 - x) * (1 - x), h01 = x * x * (3 - 2 * x), h11 = x * x * (x - 1);
            for (int i = 0; i < channels; i++)
            {
                made[i] = h00 * _values[b][i] + h10 * step * Slope(a, b, c, i) + h01 * _values[c][i] + h11 * step * Slope(b, c, d, i);
            }
            Put(made);
        }
    }

    private double Slope(int before, int at, int after, int channel)
    {
        double v = _values[at][channel];
        double left = before < 0 ? 0 : (v - _values[before][channel]) / (_times[at] - _times[before]);
        double right = after < 0 ? 0 : (_values[after][channel] - v) / (_times[after] - _times[at]);
        if (before < 0) { return right; }
        if (after < 0) { return left; }
        double hl = _times[at] - _times[before], hr = _times[after] - _times[at];
        return (left * hr + right * hl) / (hl + hr);
    }

    private void Put(double[] values)
    {
        for (int i = 0; i < channels; i++)
        {
            _out.Values[i] = values[i];
            values[i].TryFormat(_out.Slot(i), out int length, "R", CultureInfo.InvariantCulture);
            _out.SetLength(i, length);
        }
        long ns = rate.TimeOf(_made).Ns;
        _made++;
        next.Sample([], ns, _out);
    }
}
