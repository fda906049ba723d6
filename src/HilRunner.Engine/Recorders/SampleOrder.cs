using System.Globalization;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Recorders;

/// <summary>What a measured sample is to the one before it.</summary>
public enum SamplePlace { Next, AfterGap, Repeated }

/// <summary>
/// Says whether the device's samples follow on each other: by their number n, else by the device's stamps, else by their arrival.
/// A gap is never closed; it ends the part that was being recorded.
/// </summary>
public sealed class SampleOrder
{
    /// <summary>Numbers of fewer bits than 32 begin at 0 again after their largest.</summary>
    private static readonly int[] s_widths = [8, 16, 24, 32];

    /// <summary>Without numbers and stamps: a silence of this long may have cost samples, as far as anybody can tell.</summary>
    private const long SilenceNs = 500_000_000;
    private const int SilencePeriods = 10;

    private readonly double _periodNs;
    private readonly double? _tickNs;
    private readonly ulong _tickMask;
    private DeviceMessage _before;
    private bool _any;

    /// <param name="device">Its says.sample tells by what samples are placed.</param>
    public SampleOrder(DeviceDescription device)
    {
        IReadOnlyList<string> names = device.Says.Sample?.Names ?? [];
        _periodNs = 1e12 / device.Input.Rate.MilliHertz;
        _tickNs = names.Contains("t_us") ? 1e3 : names.Contains("t_ms") ? 1e6 : names.Contains("ticks") ? device.Clock?.TickNs : null;
        int bits = device.Clock?.Bits ?? 32;
        _tickMask = bits == 64 ? ulong.MaxValue : (1UL << bits) - 1;
    }

    /// <summary>Samples that are known to be lost: those that numbers or stamps tell.</summary>
    public long Lost { get; private set; }

    /// <param name="why">For anything but Next: what was seen.</param>
    public SamplePlace Place(in DeviceMessage sample, out string why)
    {
        why = "";
        if (!_any)
        {
            (_any, _before) = (true, sample);
            return SamplePlace.Next;
        }
        SamplePlace place = sample.N is { } n && _before.N is { } last ? ByNumber(n, last, out why)
            : sample.Ticks is { } ticks && _before.Ticks is { } lastTicks && _tickNs is { } tick ? ByStamp(ticks, lastTicks, tick, out why)
            : ByArrival(sample.FirstByte, _before.FirstByte, out why);
        if (place != SamplePlace.Repeated) { _before = sample; }
        return place;
    }

    /// <summary>The device was started anew: its numbers and stamps begin again.</summary>
    public void Restart() => _any = false;

    private SamplePlace ByNumber(long n, long last, out string why)
    {
        why = "";
        if (n == last + 1 || (n == 0 && s_widths.Any(w => last == (1L << w) - 1))) { return SamplePlace.Next; }
        if (n == last)
        {
            why = Invariant($"sample {n} came twice");
            return SamplePlace.Repeated;
        }
        if (n < last)
        {
            why = Invariant($"sample {n} came after {last}: the device counts anew");
            return SamplePlace.AfterGap;
        }
        Lost += n - last - 1;
        why = Invariant($"{n - last - 1} samples lost: {n} came after {last}");
        return SamplePlace.AfterGap;
    }

    private SamplePlace ByStamp(ulong ticks, ulong last, double tickNs, out string why)
    {
        double stepNs = (ticks - last & _tickMask) * tickNs;
        why = "";
        if (stepNs == 0)
        {
            why = "a sample came twice, by its stamp";
            return SamplePlace.Repeated;
        }
        double periods = stepNs / _periodNs;
        // Half a step off, as the reader of recordings allows (Recordings/SampleTimes); a coarse tick may add one of its own.
        if (Math.Abs(stepNs - _periodNs) <= _periodNs / 2 + tickNs) { return SamplePlace.Next; }
        if (periods is > 1 and < 1e6) { Lost += (long)Math.Round(periods) - 1; }
        why = Invariant($"a step of {stepNs / 1e9:0.######} s by the device's stamps, where {_periodNs / 1e9:0.######} s was expected");
        return SamplePlace.AfterGap;
    }

    private SamplePlace ByArrival(HostTime at, HostTime last, out string why)
    {
        double silenceNs = at - last;
        why = "";
        if (silenceNs < Math.Max(SilenceNs, SilencePeriods * _periodNs)) { return SamplePlace.Next; }
        why = Invariant($"no sample came for {silenceNs / 1e9:0.###} s: some may be lost (they carry neither number nor stamp)");
        return SamplePlace.AfterGap;
    }

    private static string Invariant(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
