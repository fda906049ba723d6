namespace HilRunner.Application;

/// <summary>
/// Whoever stands at the bench, or nobody: a job tells them what they must know, and asks what only a person may decide. Called
/// from several threads.
/// </summary>
public interface IOperator
{
    /// <summary>Whether a person is there who can be asked and whose keys are heard.</summary>
    bool IsThere { get; }

    /// <summary>Something to know; the job goes on.</summary>
    void Tell(string line);

    /// <summary>Something that is not as it should be, and stops nothing.</summary>
    void Warn(string line);

    /// <summary>Asks, and waits for a line.</summary>
    /// <returns>What was typed; null: there is nobody, or no more is said.</returns>
    /// <exception cref="OperationCanceledException">It was interrupted.</exception>
    Task<string?> AskAsync(string question, CancellationToken stop);

    /// <summary>Keys that are pressed from now on, each with its time; without a person there are none.</summary>
    IKeys Keys();

    /// <summary>A sound, where a person moves the device and does not look at a screen.</summary>
    void Ring();
}
