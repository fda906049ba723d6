using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Playing;

/// <summary>
/// Clock questions between samples: one every so often, and only where there is time for it before the next sample is due, so
/// that playout is not disturbed. The questions are written out beforehand; their tokens come round again long after
/// an answer can still be on its way.
/// </summary>
internal sealed class ClockQuestions
{
    private const int Prepared = 64;
    /// <summary>Tokens of the questions before and after a run are lower; all fit a byte.</summary>
    private const int FirstToken = 100;
    /// <summary>Time that must be left until the next sample: many times what a question takes to be written.</summary>
    private const long NeededNs = 100_000;

    private readonly ICaptureWriter _capture;
    private readonly HostClock _clock;
    private readonly TimeSpan _every;
    private readonly byte[][] _questions;
    private readonly string[] _tokens;
    private HostTime _next;
    private int _count;

    private ClockQuestions(ClockQuery query, IDeviceFormat format, ICaptureWriter capture, HostClock clock)
    {
        _capture = capture;
        _clock = clock;
        _every = query.Every;
        _questions = [.. Enumerable.Range(0, Prepared).Select(i => format.Message(query.Ask, (ulong)(FirstToken + i)))];
        _tokens = [.. Enumerable.Range(0, Prepared).Select(i => (FirstToken + i).ToString(CultureInfo.InvariantCulture))];
        _next = clock.Now + _every;
    }

    /// <summary>Null for a device without a clock, or one that is not to be asked in mid-run.</summary>
    public static ClockQuestions? For(DeviceDescription device, IDeviceFormat format, ICaptureWriter capture, HostClock clock) =>
        device.Clock is { } query && query.Every > TimeSpan.Zero ? new(query, format, capture, clock) : null;

    /// <param name="nextSampleNs">When the next sample is due, on the host's clock.</param>
    public bool IsDue(long nextSampleNs)
    {
        HostTime now = _clock.Now;
        return now >= _next && nextSampleNs - now.Ns >= NeededNs;
    }

    /// <summary>The bytes of the next question, which must be sent at once: its time is in the capture now.</summary>
    public byte[] Next()
    {
        int index = _count++ % Prepared;
        _next = _clock.Now + _every;
        Record(_capture, _clock, "during", _tokens[index]);
        return _questions[index];
    }

    /// <summary>
    /// Notes that a question is about to be sent. Before it is sent, since the answer must not come before it in the capture: T1 a
    /// little early widens the delay and never moves the bound off the truth.
    /// </summary>
    public static void Record(ICaptureWriter capture, HostClock clock, string when, string token)
    {
        HostTime sent = clock.Now;
        capture.Event(
            sent, RunEventNames.Step, ("step", "clock"), ("when", when), ("token", token),
            ("sent_unix_ns", clock.ToUnixNs(sent).ToString(CultureInfo.InvariantCulture)));
    }
}
