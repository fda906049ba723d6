using HilRunner.Application;
using HilRunner.Cli.Screen.Terminals;

namespace HilRunner.Cli.Screen;

/// <summary>
/// Whoever sits at the terminal of this process: told on the error output, asked on it, answering by the keyboard.
/// </summary>
internal sealed class ConsoleOperator : IOperator
{
    public bool IsThere => KeyReader.HasTerminal;

    public void Tell(string line) => Console.Error.WriteLine(line);

    public void Warn(string line) => Console.Error.WriteLine($"hil: {line}");

    public async Task<string?> AskAsync(string question, CancellationToken stop)
    {
        Console.Error.Write(question);
        // A read that is under way cannot be broken off; it ends with the process.
        return await Task.Run(Console.In.ReadLine, stop).WaitAsync(stop).ConfigureAwait(false);
    }

    public IKeys Keys() => KeyReader.Started();

    public void Ring() => Terminal.Bell();
}
