namespace HilRunner.Application;

/// <summary>The command line asks for something that does not fit together (exit code 64). The message says what to do.</summary>
internal sealed class UsageException(string message) : Exception(message);
