using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Recorders;

/// <summary>Is shown what is recorded, as it comes.</summary>
public interface IRecordingView
{
    /// <param name="values">In g and °/s, in the order of the input channels. Valid only during the call.</param>
    void OnSample(ReadOnlySpan<double> values);

    /// <summary>Something that a person should know of.</summary>
    void OnIncident(string what);
}

/// <summary>
/// From the capture of a device that says what it measures to recordings in the native form: NAME.csv, and after every gap a further
/// one, NAME-2.csv and so on, since a recording is one unbroken series. For one thread.
/// </summary>
public sealed class Recorder : IMessageSink, IDisposable
{
    /// <summary>A link that loses samples all the time is no link to record over.</summary>
    public const int MostParts = 1_000;
    private const int MostIncidents = 1_000;

    private readonly DeviceDescription _device;
    private readonly IDeviceDecoder _decoder;
    private readonly SampleOrder _order;
    private readonly string _path;
    private readonly RecordingInfo _info;
    private readonly IRecordingView _view;
    private readonly List<RecordedPart> _parts = [];
    private readonly List<string> _incidents = [];
    private readonly decimal[] _units;
    private readonly double[] _values;
    private string _begins = "";
    private bool _begun;
    private bool _broken = true;
    private int _labelled;

    /// <param name="path">NAME.csv.</param>
    /// <param name="info">What is known of the recording beforehand; its rate is the rig's.</param>
    public Recorder(Rig rig, IDeviceFormat format, string path, RecordingInfo info, IRecordingView view)
    {
        _device = rig.Device;
        _decoder = format.NewDecoder();
        _order = new(rig.Device);
        (_path, _info, _view) = (path, info, view);
        _units = [.. _device.Input.Channels.Select(c => (decimal)c.UnitsPerCount)];
        _values = new double[_units.Length];
    }

    public LabelTrack Labels { get; } = new();
    public IReadOnlyList<RecordedPart> Parts => _parts;
    /// <summary>In order; beyond a thousand they are only counted.</summary>
    public IReadOnlyList<string> Incidents => _incidents;
    public long IncidentCount { get; private set; }
    public long SamplesLost => _order.Lost;
    public long SamplesRepeated { get; private set; }
    /// <summary>What the device said last; null: nothing yet.</summary>
    public string? LastDecision { get; private set; }
    /// <summary>Start of what a script counts from; null: it has not begun.</summary>
    public HostTime? Origin { get; private set; }
    public bool HasTooManyParts => _parts.Count >= MostParts;
    public DecoderCounts Decoded => _decoder.Counts;

    /// <summary>The stretch that is being recorded; null: none.</summary>
    public RecordedPart? Current => _broken ? null : _parts[^1];

    /// <exception cref="IOException">The recording could not be written.</exception>
    public void Take(in CaptureRecord record)
    {
        if (record.Kind == CaptureKind.FromDevice) { _decoder.Feed(record.Bytes.Span, record.At, this); }
        else if (record.Event is { } happened) { OnEvent(happened); }
    }

    public void OnMessage(in DeviceMessage message)
    {
        if (!_begun) { return; }
        switch (message.Kind)
        {
            case MessageKind.Sample: OnSample(message); break;
            case MessageKind.Decision: LastDecision = message.Class; break;
            case MessageKind.Booted: Break("the device was reset"); break;
        }
    }

    /// <summary>Hands everything to the disk, the labels as they stand.</summary>
    /// <exception cref="IOException">Could not be written.</exception>
    public void Save()
    {
        // A part that has ended changes only where a label does.
        bool changed = Labels.Version != _labelled;
        for (int i = changed ? 0 : Math.Max(0, _parts.Count - 1); i < _parts.Count; i++)
        {
            _parts[i].File.Flush();
            if (_parts[i].SampleCount > 0) { _parts[i].Label(Labels.Marks); }
        }
        _labelled = Labels.Version;
    }

    /// <summary>The last of it: labels on the final times, and in each side file what became of the part.</summary>
    /// <param name="end">How the recording ended, in words.</param>
    public void Finish(string end)
    {
        for (int i = 0; i < _parts.Count; i++)
        {
            _parts[i].File.Flush();
            _parts[i].Label(Labels.Marks);
            _parts[i].File.Describe(Described(_parts[i], i == _parts.Count - 1 ? end : $"goes on in {Path.GetFileName(_parts[i + 1].Path)} after a gap"));
        }
    }

    public void Dispose()
    {
        foreach (var part in _parts) { part.File.Dispose(); }
        _decoder.Dispose();
    }

    private void OnEvent(RunEvent happened)
    {
        switch (happened.Name)
        {
            case RunEventNames.Step when happened.Details.GetValueOrDefault("step") == "begin": _begun = true; break;
            case RunEventNames.Origin: Origin = new(long.Parse(happened.Details["unix_ns"], System.Globalization.CultureInfo.InvariantCulture)); break;
            case RunEventNames.LinkLost: Tell($"the link was lost: {happened.Details.GetValueOrDefault("message")}"); break;
        }
    }

    private void OnSample(in DeviceMessage sample)
    {
        SamplePlace place = _order.Place(sample, out string why);
        if (place == SamplePlace.Repeated)
        {
            SamplesRepeated++;
            Tell(why);
            return;
        }
        if (place == SamplePlace.AfterGap) { Break(why, restart: false); }
        if (!Read(sample))
        {
            Break("a sample without a finite number");
            return;
        }
        if (_broken && !BeginPart()) { return; }
        _parts[^1].Add(_values, sample.FirstByte);
        _view.OnSample(_values);
    }

    private bool Read(in DeviceMessage sample)
    {
        ReadOnlySpan<double> counts = sample.Values.Span;
        for (int i = 0; i < _units.Length; i++)
        {
            // In decimal 997 · 0.001 is 0.997 and reads so in the file.
            _values[i] = Math.Abs(counts[i]) <= 1e9 ? (double)((decimal)counts[i] * _units[i]) : double.NaN;
            if (!double.IsFinite(_values[i])) { return false; }
        }
        return true;
    }

    private void Break(string why, bool restart = true)
    {
        if (restart) { _order.Restart(); }
        if (_parts.Count == 0)
        {
            Tell(why);
            return;
        }
        // Several reasons for one gap: the first one is the cause.
        if (_broken) { return; }
        _parts[^1].File.Flush();
        _broken = true;
        _begins = why;
        Tell(why);
    }

    private bool BeginPart()
    {
        if (HasTooManyParts) { return false; }
        string path = _parts.Count == 0 ? _path
            : Path.ChangeExtension(_path, null) + FormattableString.Invariant($"-{_parts.Count + 1}.csv");
        var info = _info with { Provenance = _begins.Length == 0 ? _info.Provenance : $"{_info.Provenance}; begins after a gap: {_begins}" };
        var file = new GrowingRecording(path, _device.Input.Rate, [.. _device.Input.Channels.Select(c => c.Name)], info);
        _parts.Add(new(file, _device.Input.Rate, _begins));
        _broken = false;
        return true;
    }

    private RecordingInfo Described(RecordedPart part, string end)
    {
        string begins = part.Begins.Length == 0 ? "" : $"; begins after a gap: {part.Begins}";
        string rate = part.Arrivals.Rate is { } measured
            ? FormattableString.Invariant($"; true rate {measured.Hertz:0.####} Hz ± {measured.UncertaintyHz:0.####} Hz{(measured.IsOff(_device.Input.Rate) ? ", which is off" : "")}")
            : "";
        return _info with { Provenance = $"{_info.Provenance}{begins}{rate}; {end}" };
    }

    private void Tell(string what)
    {
        if (IncidentCount++ < MostIncidents) { _incidents.Add(what); }
        _view.OnIncident(what);
    }
}
