using System.CommandLine;
using HilRunner.Application.Tables;

namespace HilRunner.Cli.Commands;

/// <summary>Who says that a table may move.</summary>
internal static class TableOptions
{
    public const string Name = TableOrder.InterlockOption;

    private static readonly Option<bool> s_answers = new(Name)
    {
        Description = "With --shaker and nobody at the terminal: nobody is asked, the table's interlock answers for them.",
    };

    /// <summary>The name that it had: it reads as if it armed something.</summary>
    private static readonly Option<bool> s_armed = new("--armed") { Hidden = true };

    public static void AddTo(Command command)
    {
        command.Add(s_answers);
        command.Add(s_armed);
    }

    /// <summary>Whether nobody is asked. The old name is taken, and said to be old.</summary>
    public static bool InterlockAnswers(ParseResult parsed)
    {
        if (parsed.GetValue(s_armed))
        {
            Console.Error.WriteLine($"--armed is called {Name} now, which is what it says: nobody is asked");
            return true;
        }
        return parsed.GetValue(s_answers);
    }
}
