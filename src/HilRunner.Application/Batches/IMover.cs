namespace HilRunner.Application.Batches;

/// <summary>What moves the device while it is listened to and nothing is injected.</summary>
internal interface IMover : IDisposable
{
    /// <summary>What moves now, for whoever stands by: level, class, time left. From several threads.</summary>
    string Now { get; }

    /// <summary>Moves until the run is over, or ends it.</summary>
    /// <param name="end">Ends the run before its time.</param>
    Task<(string Cause, string Message)> RunAsync(Task<(string Cause, string Message)> playing, Action end);
}
