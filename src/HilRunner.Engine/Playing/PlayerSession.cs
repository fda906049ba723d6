using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Plans;

namespace HilRunner.Engine.Playing;

/// <summary>
/// The life of a player process: it owns the rig's link from the first plan on, keeps it open from run to run (opening resets
/// many boards), opens it again after a loss, and ends when the pipe from its parent does.
/// </summary>
public sealed class PlayerSession : IDisposable
{
    /// <summary>How long a board may take to come back after its link was lost, or could not be opened.</summary>
    private static readonly TimeSpan s_comesBack = TimeSpan.FromSeconds(10);

    private readonly Rig _rig;
    private readonly ILinkOpener _links;
    private readonly IDeviceFormat _format;
    private readonly ICaptureStore _captures;
    private readonly HostClock _clock;
    private readonly Lock _gate = new();
    private bool _retries;
    private ILink? _link;
    private Conversation? _conversation;
    private bool _stopped;

    public PlayerSession(Rig rig, ILinkOpener links, IDeviceFormatFactory formats, ICaptureStore captures, HostClock clock)
    {
        _rig = rig;
        _links = links;
        _format = formats.Create(rig.Device);
        _captures = captures;
        _clock = clock;
    }

    /// <summary>Ends the run that is under way, and every later one at its start. May be called from any thread.</summary>
    public void Stop()
    {
        lock (_gate)
        {
            _stopped = true;
            _conversation?.Stop();
        }
    }

    /// <summary>Plays one plan. Never throws for what happens on the link: the result says it, and so does the capture.</summary>
    public (string Cause, string Message) Play(PlayPlan plan)
    {
        // What was lost since the last run is nobody's run.
        CloseLost();
        try
        {
            using ICaptureWriter capture = _captures.Create(Path.Combine(plan.Folder, plan.CaptureName), _clock);
            var (cause, message, sent) = Play(plan, capture);
            _conversation?.End();
            capture.Event(
                _clock.Now, RunEventNames.Ended, ("cause", cause), ("sent", sent.ToString(CultureInfo.InvariantCulture)), ("message", message));
            if (cause == EndCause.NotOpened) { _retries = true; }
            CloseLost();
            return (cause, message);
        }
        catch (IOException fault)
        {
            _conversation?.End();
            return (EndCause.CaptureFailed, $"the capture could not be written: {fault.Message}");
        }
    }

    private (string Cause, string Message, int Sent) Play(PlayPlan plan, ICaptureWriter capture)
    {
        PlayerRun? run = null;
        try
        {
            if (plan.AskAfter.Length > 0 && _link is null) { return (EndCause.NotOpened, "the link was not open any more", 0); }
            bool fresh = EnsureOpen(capture);
            using StampProbe? probe = plan.Speed is null ? null : StampProbe.Open(_links, _clock);
            run = new PlayerRun(plan, _rig, _format, _link!, _conversation!, capture, _clock, probe);
            if (plan.AskAfter.Length > 0)
            {
                run.AskAfter(plan.AskAfter);
                return (EndCause.Completed, "", 0);
            }
            if (fresh)
            {
                run.AfterOpening();
                run.BeforeFirstReset();
            }
            run.Run();
            return (EndCause.Completed, "", run.Sent);
        }
        catch (RunEndedException end) { return (end.Cause, end.Message, run?.Sent ?? 0); }
        catch (LinkException fault) { return (EndCause.NotOpened, fault.Message, 0); }
    }

    private void CloseLost()
    {
        if (_conversation is not { IsLost: true }) { return; }
        _retries = true;
        Close();
    }

    public void Dispose()
    {
        Close();
        _format.Dispose();
    }

    private bool EnsureOpen(ICaptureWriter capture)
    {
        bool fresh = _link is null;
        if (fresh)
        {
            ILink link = _retries ? _links.OpenWithRetry(_rig.Device.Link, s_comesBack) : _links.Open(_rig.Device.Link);
            lock (_gate)
            {
                _link = link;
                _conversation = new Conversation(_clock, _format.NewDecoder(), _rig.Device.Hears.SamplesPerMessage);
                if (_stopped) { _conversation.Stop(); }
            }
            capture.Event(_clock.Now, RunEventNames.Opened, ("link", link.Name));
            _conversation.Begin(capture);
            link.Start(_conversation);
        }
        else { _conversation!.Begin(capture); }
        return fresh;
    }

    private void Close()
    {
        lock (_gate)
        {
            _link?.Dispose();
            _conversation?.Dispose();
            _link = null;
            _conversation = null;
        }
    }
}
