using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;

namespace HilRunner.Application.Playing;

/// <summary>
/// Leads a person through a run that is moved by hand: says what to do, counts down, takes the marks. Every mark is on disk as soon as it is
/// made.
/// </summary>
internal sealed class HandSession(
    JobContext context, PromptSchedule schedule, IDeviceFormat format, string folder, IKeys keys, IHandView view, bool bell)
    : IMessageSink, IDisposable
{
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(50);
    private readonly IDeviceDecoder _decoder = format.NewDecoder();
    private readonly string _marks = Path.Combine(folder, RunFiles.Marks);
    private ICaptureReader? _capture;
    private HostTime? _origin;
    private string? _class;
    private int _told = -1;
    private int _marked = -1;

    /// <exception cref="IOException">The marks could not be written.</exception>
    public async Task<(string Cause, string Message)> RunAsync(Task<(string Cause, string Message)> playing)
    {
        // What was typed before belongs to something else.
        while (keys.TryRead(out _)) { }
        while (!playing.IsCompleted)
        {
            Look();
            await Task.WhenAny(playing, Task.Delay(s_look, context.Clock.Provider, CancellationToken.None)).ConfigureAwait(false);
        }
        view.Clear();
        return await playing.ConfigureAwait(false);
    }

    public void OnMessage(in DeviceMessage message)
    {
        if (message.Kind == MessageKind.Decision) { _class = message.Class; }
    }

    public void Dispose()
    {
        _capture?.Dispose();
        _decoder.Dispose();
    }

    private void Look()
    {
        Follow();
        while (keys.TryRead(out KeyPress press))
        {
            if (press.Character == ' ') { Mark(press.At); }
        }
        StimulusTime? at = null;
        if (_origin is { } origin)
        {
            HostTime now = context.UnixNow;
            at = new StimulusTime(now - origin);
            Tell(schedule.IndexAt(at.Value), now);
        }
        view.Show(schedule, at, _marked == _told && _told >= 0, _class);
    }

    /// <summary>Something else holds from now on: noted at the moment at which it is shown.</summary>
    private void Tell(int index, HostTime now)
    {
        if (index <= _told || index >= schedule.Prompts.Count) { return; }
        _told = index;
        Note(HandMarkKind.Told, now);
        if (bell) { context.Operator.Ring(); }
    }

    private void Mark(HostTime at)
    {
        if (_told < 0 || _marked == _told) { return; }
        _marked = _told;
        Note(HandMarkKind.Marked, at);
    }

    private void Note(HandMarkKind kind, HostTime at) => MarksFile.Append(_marks, new(_told, kind, new(at - _origin!.Value), at.Ns));

    private void Follow()
    {
        string path = Path.Combine(folder, RunFiles.Capture);
        if (_capture is null && File.Exists(path)) { _capture = context.Captures.Open(path); }
        while (_capture is not null && _capture.TryRead(out CaptureRecord record))
        {
            if (record.Kind == CaptureKind.FromDevice) { _decoder.Feed(record.Bytes.Span, record.At, this); }
            else if (record.Event is { Name: RunEventNames.Origin } began)
            {
                _origin = new(long.Parse(began.Details["unix_ns"], System.Globalization.CultureInfo.InvariantCulture));
            }
        }
    }
}
