using System.Text;
using HilRunner.Core.Capture;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Reviewing;
using HilRunner.Testing;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;

namespace HilRunner.Engine.Tests.Reviewing;

/// <summary>A capture written record by record. Times in ms since the origin of the stimulus.</summary>
internal sealed class CaptureScript
{
    public const string Rig = """
        rig: review
        device:
          link: {serial: {port: /dev/ttyS9, baud: 9600}}
          framing: lines
          hears: {sample: "s {n} {ax}"}
          says:
            decisions: '^c (?<class>\w+)( n(?<n>\d+))?( t(?<t_us>\d+))?$'
            booted: '^boot (?<version>\S+)$'
          input: {rate: 100 Hz, channels: {ax: {count: 1 mg, range: 8 g}}}
          clock: {ask: "t {token}", answer: '^t (?<token>\d+) (?<t_us>\d+)$', bits: 32}
        health: {lines_unknown: 0}
        """;

    private const long Ms = 1_000_000;
    private readonly List<Action<ICaptureWriter>> _records = [];
    private readonly HostClock _clock = new(TimeProvider.System);
    private readonly HostTime _zero;

    public CaptureScript() => _zero = _clock.Now;

    public CaptureScript From(double ms, string text)
    {
        _records.Add(w => w.Bytes(CaptureKind.FromDevice, At(ms), Encoding.UTF8.GetBytes(text)));
        return this;
    }

    public CaptureScript Opened(double ms) => Event(ms, RunEventNames.Opened, ("link", "test"));

    /// <summary>A silent device was asked again.</summary>
    public CaptureScript Revival(string by, bool answered) =>
        Event(19_500, RunEventNames.Revival, ("by", by), ("answered", answered ? "true" : "false"));

    /// <summary>It said nothing for as long as the rig allows.</summary>
    public CaptureScript Silent() =>
        Event(11_000, RunEventNames.Silent, ("sent", "1000"), ("message", "the device said nothing"));

    /// <summary>A silent device is asked once more, as it is.</summary>
    public CaptureScript Asks(double ms) => Event(ms, RunEventNames.Step, ("step", "ask"));

    /// <summary>Asked for its counters.</summary>
    /// <param name="answer">Null: it does not answer.</param>
    public CaptureScript AsksCounters(double ms, string when, string? answer)
    {
        Event(ms, RunEventNames.Step, ("step", "counters"), ("when", when));
        return answer is null ? this : From(ms + 1, answer + "\n");
    }

    /// <summary>The last sample was sent.</summary>
    public CaptureScript Ends(double ms = 10_100) => Event(ms, RunEventNames.Step, ("step", "end"));

    public CaptureScript Begin() => Event(-10, RunEventNames.Step, ("step", "begin"));

    public CaptureScript Origin() => Event(0, RunEventNames.Origin, ("unix_ns", $"{_clock.ToUnixNs(_zero)}"));

    public CaptureScript End(string cause = "completed") =>
        Event(20_000, RunEventNames.Ended, ("cause", cause), ("message", $"it was {cause}"));

    public CaptureScript Paced(long stampNs, int waits = 0, long waitNs = 0) => Event(
        19_000, RunEventNames.Paced, ("stamp_ns", $"{stampNs}"), ("credit_waits", $"{waits}"), ("credit_wait_ns", $"{waitNs}"));

    /// <param name="deviceUs">Null: no answer.</param>
    public CaptureScript Clock(int token, string when, double sentMs, long? deviceUs, double answeredMs)
    {
        Event(sentMs, RunEventNames.Step, ("step", "clock"), ("when", when),
            ("token", $"{token}"), ("sent_unix_ns", $"{_clock.ToUnixNs(At(sentMs))}"));
        return deviceUs is null ? this : From(answeredMs, $"t {token} {deviceUs}\n");
    }

    public RunEvidence Read(int lead = 0, int? played = null, Func<int, double>? lateMs = null, string rigText = Rig)
    {
        using var folder = TestPaths.NewFolder("review");
        string path = folder.File(RunFiles.Capture);
        using (var writer = new CaptureStore().Create(path, _clock)) { _records.ForEach(r => r(writer)); }
        var rig = RigFile.Parse(rigText, "rig.yaml");
        const int samples = 1000;
        var manifest = TestManifest.Of("review", rig.Device.Input.Rate, samples + lead, lead, ["ax"]);
        PlayoutRow[] playout =
        [
            .. Enumerable.Range(-lead, (played ?? samples) + lead)
                .Select(n => new PlayoutRow(n, n * 10 * Ms, n * 10 * Ms + (long)((lateMs?.Invoke(n) ?? 0) * Ms))),
        ];
        using var format = new DeviceFormatFactory().Create(rig.Device);
        using var reader = new CaptureStore().Open(path);
        return CaptureReview.Read(rig, manifest, playout, format, reader);
    }

    private CaptureScript Event(double ms, string name, params (string, string)[] details)
    {
        _records.Add(w => w.Event(At(ms), name, details));
        return this;
    }

    private HostTime At(double ms) => new(_zero.Ns + (long)(ms * Ms));
}
