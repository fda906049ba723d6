
namespace HilRunner.Core.Documents;

/// <summary>Programs that a rig starts: one word an argument, never a shell.</summary>
internal static class ProgramShapes
{
    public static Shape<string> Program { get; } = Shapes.Text("a program", "./adapter.py").Select((name, _, reading) => ResolveProgram(name, reading));

    public static Shape<IReadOnlyList<string>> Arguments { get; } = new ListShape<string>("a list of arguments", new TextShape("an argument", [], shortest: 0), 0, 1_000);

    /// <summary>[program, argument, …]</summary>
    public static Shape<IReadOnlyList<string>> Words { get; } =
        new ListShape<string>("a list of words: program and arguments", new TextShape("a word", [], shortest: 0), 1, 1_000)
            .Select((words, node, reading) =>
            {
                if (words[0].Length == 0) { reading.Refuse(node, "a list with an empty first word", "the program first"); }
                return (IReadOnlyList<string>)[ResolveProgram(words[0], reading), .. words.Skip(1)];
            });

    /// <summary>A name without a separator is looked up in PATH and stays as it is.</summary>
    private static string ResolveProgram(string name, Reading reading) => name.AsSpan().ContainsAny('/', '\\') ? reading.Resolve(name) : name;
}
