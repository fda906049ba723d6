using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Directing;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Prompting;
using HilRunner.Engine.Recorders;

namespace HilRunner.Application.Recorders;

/// <summary>What a call of <c>hil record</c> records, and how.</summary>
/// <param name="Length">Null: until somebody ends it, or the script does.</param>
/// <param name="Script">Null: labels are set by keys.</param>
internal sealed record RecordingOptions(
    Rig Rig, PlayerOrder Order, RecordingTarget Target, RecordingInfo Info, TimeSpan? Length, PromptSchedule? Script, ClassKeys Keys, bool Bell);

/// <param name="Cause">A word of <see cref="EndCause"/>.</param>
/// <param name="ByKey">Somebody ended it with a key.</param>
internal sealed record RecordingEnd(string Cause, string Message, bool ByKey);

/// <summary>
/// Records: a player process owns the port and keeps the capture; this process follows the capture, writes the recording, takes the keys
/// and draws. Whatever becomes of this process, the capture is whole, and the recording readable as far as it went.
/// </summary>
internal sealed class RecordingJob : IDisposable
{
    /// <summary>Longest recording.</summary>
    public static readonly TimeSpan Longest = TimeSpan.FromHours(24);
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(50);
    private const int LooksPerDrawing = 2;
    private const int LooksPerSaving = 5;

    private readonly RecordingOptions _options;
    private readonly IDeviceFormat _format;
    private readonly JobContext _context;
    private readonly IRecordView _view;
    private readonly IKeys _keys;
    private readonly ScriptLabels? _script;
    private ICaptureReader? _capture;
    private bool _byKey;
    private int _shown;

    public RecordingJob(JobContext context, RecordingOptions options, IRecordView view)
    {
        (_context, _view, _keys) = (context, view, context.Operator.Keys());
        _options = options;
        _format = _context.Formats.Create(options.Rig.Device);
        Recorder = new(options.Rig, _format, options.Target.Data, options.Info, _view);
        _script = options.Script is { } script ? new(script, Recorder.Labels) : null;
    }

    public Recorder Recorder { get; }

    /// <exception cref="IOException">The recording could not be written; the capture holds what there was.</exception>
    public async Task<RecordingEnd> RunAsync(CancellationToken stop)
    {
        var script = _options.Script;
        TimeSpan length = _options.Length ?? (script is null ? Longest : TimeSpan.FromTicks(script.End.Ns / 100));
        PlayPlan plan = PlanBuilder.Listen(_options.Rig.Device, _format, script?.Lead ?? TimeSpan.Zero, length, needsMeasured: true, _options.Target.Folder)
            with
        { CaptureName = _options.Target.CaptureName };
        using var end = CancellationTokenSource.CreateLinkedTokenSource(stop);
        using var player = PlayerProcess.Start(_context.PlayerCommandLine, _options.Order);
        Task<(string Cause, string Message)> playing = player.PlayAsync(plan, end.Token);
        try
        {
            for (int looks = 0; !playing.IsCompleted; looks++)
            {
                Look(end);
                if (looks % LooksPerSaving == 0) { Recorder.Save(); }
                if (looks % LooksPerDrawing == 0) { Draw(); }
                await Task.WhenAny(playing, Task.Delay(s_look, _context.Clock.Provider, CancellationToken.None))
                    .ConfigureAwait(false);
            }
            var (cause, message) = await playing.ConfigureAwait(false);
            Follow();
            _script?.Advance(Recorder.Origin ?? Now, Now);
            var ended = new RecordingEnd(cause, message, _byKey);
            Recorder.Finish(InWords(ended));
            // Nothing was said and nothing heard: what is printed says all that it holds.
            if (cause == EndCause.NotOpened && Recorder.Parts.Count == 0) { RemoveCapture(); }
            return ended;
        }
        finally
        {
            _view.Clear();
            // Whatever went wrong here, the player is told to end.
            await end.CancelAsync().ConfigureAwait(false);
        }
    }

    public void Dispose()
    {
        _capture?.Dispose();
        Recorder.Dispose();
        _format.Dispose();
    }

    private void RemoveCapture()
    {
        _capture?.Dispose();
        _capture = null;
        File.Delete(_options.Target.Capture);
    }

    private HostTime Now => _context.UnixNow;

    private void Look(CancellationTokenSource end)
    {
        Follow();
        if (_script is not null && Recorder.Origin is { } origin && _script.Advance(origin, Now) && _options.Bell)
        {
            _context.Operator.Ring();
        }
        while (_keys.TryRead(out KeyPress press)) { OnKey(press, end); }
        ShowScriptsLabel();
        if (Recorder.HasTooManyParts) { end.Cancel(); }
    }

    private void Follow()
    {
        if (_capture is null
            && File.Exists(_options.Target.Capture)) { _capture = _context.Captures.Open(_options.Target.Capture); }
        while (_capture is not null && _capture.TryRead(out CaptureRecord record)) { Recorder.Take(record); }
    }

    private void Draw()
    {
        StimulusTime? at = Recorder.Origin is { } origin ? new(Now - origin) : null;
        _view.Draw(Recorder, _options.Script, at, _script?.Marked ?? false);
    }

    private void OnKey(KeyPress press, CancellationTokenSource end)
    {
        char key = char.ToLowerInvariant(press.Character);
        if (key == 'q')
        {
            _byKey = true;
            end.Cancel();
        }
        else if (_script is not null)
        {
            if (key == ' ') { _script.Mark(press.At); }
        }
        else if (key == 'u') { Undo(); }
        else if (key is '0' or ' ') { Label(press.At, null); }
        else if (_options.Keys.ClassOf(key) is { } name) { Label(press.At, name); }
        else { _view.Note($"no class has the key {(char.IsControl(key) ? press.Name : key.ToString())}"); }
    }

    private void ShowScriptsLabel()
    {
        var marks = Recorder.Labels.Marks;
        if (_script is null || Recorder.Labels.Version == _shown || marks.Count == 0) { return; }
        _shown = Recorder.Labels.Version;
        _view.OnLabel(marks[^1].Class, (Now - marks[^1].At) / 1e9, marks[^1].Class is { } name ? $"labelled {name}" : "");
    }

    private void Label(HostTime at, string? name)
    {
        if (Recorder.Labels.Mark(at, name)) { _view.OnLabel(name, 0, name is null ? "label ended" : $"labelled {name}"); }
    }

    private void Undo()
    {
        if (Recorder.Labels.Undo() is not { } undone)
        {
            _view.Note("nothing to undo");
            return;
        }
        _view.OnLabel(Recorder.Labels.Current, (Now - undone.At) / 1e9, $"undone: {undone.Class ?? "end of the label"}");
    }

    private static string InWords(RecordingEnd end) => end.Cause switch
    {
        EndCause.Completed => "recorded to its end",
        EndCause.Stopped => end.ByKey ? "ended by key" : "interrupted",
        _ => $"ended early: {end.Message}",
    };
}
