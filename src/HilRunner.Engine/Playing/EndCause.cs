namespace HilRunner.Engine.Playing;

/// <summary>Why a player ended a run; the words stand in the capture's last event and in run.yaml.</summary>
public static class EndCause
{
    /// <summary>Everything was sent and the device had its time to answer.</summary>
    public const string Completed = "completed";
    /// <summary>The device gave no credit, or said nothing, for longer than the rig allows.</summary>
    public const string Silent = "silent";
    /// <summary>The device did not answer before anything was played: nothing is known about it.</summary>
    public const string NoAnswer = "no_answer";
    /// <summary>The device says that it runs another build than the one that was given: nothing was played.</summary>
    public const string WrongBuild = "wrong_build";
    public const string LinkLost = "link_lost";
    /// <summary>The parent closed the pipe: it was interrupted, or it is gone.</summary>
    public const string Stopped = "stopped";
    /// <summary>The link could not be opened.</summary>
    public const string NotOpened = "not_opened";
    /// <summary>The capture could not be written.</summary>
    public const string CaptureFailed = "capture_failed";
    /// <summary>Its rig could not be brought back, or runs the wrong build; the parent writes this one.</summary>
    public const string NotPlayed = "not_played";
    /// <summary>The player itself vanished; the parent writes this one.</summary>
    public const string PlayerGone = "player_gone";
}

/// <summary>Ends a run early with one of the words of <see cref="EndCause"/>.</summary>
public sealed class RunEndedException(string cause, string message) : Exception(message)
{
    public string Cause { get; } = cause;
}
